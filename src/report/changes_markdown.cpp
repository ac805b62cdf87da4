#include "report/changes_report.h"
#include "report/closing.h"
#include "report/markdown.h"

namespace downfit::report {

namespace {

void write_way(const ChangesReport& report, bool back, std::string& out) {
    const std::string use = use_words(report, back);
    if (!use.empty()) out += markdown_text(use) + "\n\n";
    if (report.changes.empty()) out += "Nothing changed.\n\n";
    for (const EffectLines& lines : lines_of(report, back)) {
        out += "### " + std::string(study::effect_name(lines.effect)) + ": " +
               std::string(study::effect_title(lines.effect));
        if (study::is_silent(lines.effect)) out += " (silent)";
        out += report.use ? "\n\n| change | what happens | brought by | presets |\n| --- | --- | --- | --- |\n"
                          : "\n\n| change | what happens | brought by |\n| --- | --- | --- |\n";
        for (const ChangeLine& line : lines.lines) {
            std::string words = markdown_text(line.words);
            for (const std::string& note : line.notes) words += (words.empty() ? "" : "; ") + markdown_text(note);
            out += "| " + markdown_text(line.what) + " | " + words + " | " + markdown_text(line.releases) + " |";
            if (report.use)
                out +=
                    ' ' + (lines.effect == study::Effect::nothing ? std::string() : markdown_text(line.presets)) + " |";
            out += '\n';
        }
        out += '\n';
    }
    const std::vector<std::string> others = other_words(report, back);
    if (others.empty()) return;
    out += "### " + std::string(others_title) + "\n\n";
    for (const std::string& other : others) out += "- " + markdown_text(other) + '\n';
    out += '\n';
}

}  // namespace

std::string changes_markdown(const ChangesReport& report) {
    const std::string older = markdown_text(report.release(report.older)),
                      newer = markdown_text(report.release(report.newer));
    std::string out = "# " + markdown_text(report.device->title) + ": what changed from " + older + " to " + newer +
                      "\n\n" + counted(report.changes.size(), "change", "changes") + ".\n\n";
    for (const UsedFile& file : report.files)
        out += "- with " + markdown_text(file.file) + ", SHA-256 " + file.digest + '\n';
    if (!report.files.empty()) out += '\n';
    for (const std::string& words : apart_words(report)) out += markdown_text(words) + "\n\n";
    out += "## Going back: " + newer + " to " + older + "\n\n";
    write_way(report, true, out);
    out += "## Going forward: " + older + " to " + newer + "\n\n";
    write_way(report, false, out);
    return out + markdown_text(promise()) + '\n';
}

}  // namespace downfit::report
