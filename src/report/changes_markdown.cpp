#include "report/changes_report.h"
#include "report/closing.h"
#include "report/escape.h"

namespace downfit::report {

namespace {

/// Text that Markdown (CommonMark, with tables) shows as it is: punctuation that could mean something is escaped.
std::string plain(std::string_view text) {
    std::string escaped;
    for (const char c : printable(text)) {
        if (std::string_view("\\`*_{}[]<>#|&~!$").find(c) != std::string_view::npos) escaped += '\\';
        escaped += c;
    }
    return escaped;
}

void write_way(const ChangesReport& report, bool back, std::string& out) {
    const std::string use = use_words(report, back);
    if (!use.empty()) out += plain(use) + "\n\n";
    if (report.changes.empty()) out += "Nothing changed.\n\n";
    for (const EffectLines& lines : lines_of(report, back)) {
        out += "### " + std::string(study::effect_name(lines.effect)) + ": " +
               std::string(study::effect_title(lines.effect));
        if (study::is_silent(lines.effect)) out += " (silent)";
        out += report.use ? "\n\n| change | what happens | brought by | presets |\n| --- | --- | --- | --- |\n"
                          : "\n\n| change | what happens | brought by |\n| --- | --- | --- |\n";
        for (const ChangeLine& line : lines.lines) {
            std::string words = plain(line.words);
            for (const std::string& note : line.notes) words += (words.empty() ? "" : "; ") + plain(note);
            out += "| " + plain(line.what) + " | " + words + " | " + plain(line.releases) + " |";
            if (report.use) out += ' ' + plain(line.presets) + " |";
            out += '\n';
        }
        out += '\n';
    }
    const std::vector<std::string> others = other_words(report, back);
    if (others.empty()) return;
    out += "### Not from a change alone\n\n";
    for (const std::string& other : others) out += "- " + plain(other) + '\n';
    out += '\n';
}

}  // namespace

std::string changes_markdown(const ChangesReport& report) {
    const std::string older = plain(report.release(report.older)), newer = plain(report.release(report.newer));
    std::string out = "# " + plain(report.device->title) + ": what changed from " + older + " to " + newer + "\n\n" +
                      counted(report.changes.size(), "change", "changes") + ".\n\n";
    for (const UsedFile& file : report.files) out += "- with " + plain(file.file) + ", SHA-256 " + file.digest + '\n';
    if (!report.files.empty()) out += '\n';
    if (report.use && report.use->outside > 0)
        out += presets(report.use->outside) + " saved on other releases: not counted here.\n\n";
    out += "## Going back: " + newer + " to " + older + "\n\n";
    write_way(report, true, out);
    out += "## Going forward: " + older + " to " + newer + "\n\n";
    write_way(report, false, out);
    return out + plain(promise()) + '\n';
}

}  // namespace downfit::report
