#include "report/changes_html.h"

#include <set>

#include "files/input.h"
#include "report/closing.h"
#include "report/page.h"
#include "report/strip.h"
#include "report/words.h"

namespace downfit::report {

namespace {

/// The letter of a standing (report/standing.h) whose shape and colour an effect has.
char letter_of(study::Effect effect) {
    using enum study::Effect;
    if (effect == refused) return 'R';
    if (study::is_silent(effect)) return 'S';
    switch (effect) {
        case nothing: return 'I';
        case unsure: return 'U';
        case lost:
        case reset:
        case clamped: return 'A';
        default: return 'N';
    }
}

std::string mark(study::Effect effect) {
    return std::string("<span class=\"mark ") + letter_of(effect) + "\">" + std::string(study::effect_name(effect)) +
           "</span>";
}

std::string paragraph(std::string_view text) {
    return "<p>" + html_text(text) + "</p>\n";
}

/// How many presets a line touches; what stands behind opens.
std::string preset_cell(const ChangesReport& report, const ChangeLine& line, bool back) {
    const study::WayUse& way = back ? report.use->back : report.use->forward;
    std::set<std::size_t> touched;
    for (const std::size_t change : line.changes)
        touched.insert(way.changes[change].presets.begin(), way.changes[change].presets.end());
    if (touched.empty()) return html_text(line.presets);
    std::string out = "<details><summary>" + html_text(line.presets) + "</summary><div><ul class=\"told\">";
    for (const std::size_t index : touched) {
        const study::UsedPreset& preset = way.presets[index];
        out += "<li>" + html_text(files::last_part(report.files[preset.file].file)) + " slot " +
               std::to_string(preset.slot) + ' ' + html_text(quoted_name(preset.name)) + "</li>";
    }
    return out + "</ul></div></details>";
}

void append_effect(std::string& out, const ChangesReport& report, const EffectLines& lines, bool back) {
    const std::string title(study::effect_title(lines.effect));
    out += "<section data-group>\n<h3>" + mark(lines.effect) + ' ' + html_text(title) +
           (study::is_silent(lines.effect) ? " (the unit shows nothing wrong)" : "") +
           "</h3>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"" +
           (back ? "Going back: " : "Going forward: ") + html_text(title) +
           "\"><table class=\"changes\">\n<tr><th scope=\"col\">change</th><th scope=\"col\">what happens</th>"
           "<th scope=\"col\">brought by</th>";
    const bool counts = report.use && lines.effect != study::Effect::nothing;
    if (counts) out += "<th scope=\"col\">presets</th>";
    out += "</tr>\n";
    for (const ChangeLine& line : lines.lines) {
        std::string words = html_text(line.words);
        for (const std::string& note : line.notes) words += (words.empty() ? "" : "<br>") + html_text(note);
        out += "<tr data-s=\"" + std::string(study::effect_name(lines.effect)) + "\"><td>" + html_text(line.what) +
               "</td><td>" + words + "</td><td>" + html_text(line.releases) + "</td>";
        if (counts) out += "<td>" + preset_cell(report, line, back) + "</td>";
        out += "</tr>\n";
    }
    out += "</table></div>\n</section>\n";
}

void append_way(std::string& out, const ChangesReport& report, bool back) {
    const std::string use = use_words(report, back);
    if (!use.empty()) out += paragraph(use);
    if (report.use) {
        const study::WayUse& way = back ? report.use->back : report.use->forward;
        if (!way.presets.empty())
            out += "<div class=\"wide\">" +
                   bar(way.of(compat::Verdict::intact), way.of(compat::Verdict::near), way.presets.size()) + "</div>\n";
    }
    if (report.changes.empty()) out += paragraph("Nothing changed.");
    for (const EffectLines& lines : lines_of(report, back)) append_effect(out, report, lines, back);
    const std::vector<std::string> others = other_words(report, back);
    if (others.empty()) return;
    out += "<h3>" + html_text(others_title) + "</h3>\n<ul class=\"told\">\n";
    for (const std::string& other : others) out += "<li>" + html_text(other) + "</li>\n";
    out += "</ul>\n";
}

void append_form(std::string& out, const ChangesReport& report) {
    std::set<study::Effect> effects;
    for (const study::Change& change : report.changes) {
        effects.insert(change.back.effect);
        effects.insert(change.forward.effect);
    }
    out +=
        "<form hidden autocomplete=\"off\">\n<label>Text <input type=\"search\" "
        "name=\"text\"></label>\n<fieldset><legend>Effects</legend>";
    for (const study::Effect effect : effects) {
        const std::string name(study::effect_name(effect));
        out += "<label><input type=\"checkbox\" name=\"s\" value=\"" + name + "\" checked> " + name + "</label>\n";
    }
    out += "</fieldset>\n<output id=\"shown\"></output>\n</form>\n";
}

}  // namespace

std::string changes_html(const ChangesReport& report) {
    const std::string older = report.release(report.older), newer = report.release(report.newer);
    const std::string title = report.device->title + ": what changed from " + older + " to " + newer;
    std::string out = "<header>\n<h1>" + html_text(title) + "</h1>\n" +
                      paragraph(counted(report.changes.size(), "change", "changes") + '.');
    if (!report.files.empty()) out += "<ul class=\"told\">\n";
    for (const UsedFile& file : report.files)
        out += "<li>with " + html_text(file.file) + ", SHA-256 " + file.digest + "</li>\n";
    if (!report.files.empty()) out += "</ul>\n";
    for (const std::string& words : apart_words(report)) out += paragraph(words);
    out += "</header>\n<main>\n";
    if (!report.changes.empty()) append_form(out, report);
    out += "<h2>Going back: " + html_text(newer) + " to " + html_text(older) + "</h2>\n";
    append_way(out, report, true);
    out += "<h2>Going forward: " + html_text(older) + " to " + html_text(newer) + "</h2>\n";
    append_way(out, report, false);
    out += "</main>\n<footer>\n" + paragraph(promise()) + "</footer>\n";
    return page("Downfit: " + title, out);
}

}  // namespace downfit::report
