#include "report/check_html.h"

#include <algorithm>
#include <map>
#include <set>

#include "files/input.h"
#include "report/closing.h"
#include "report/layout.h"
#include "report/outcome_counts.h"
#include "report/page.h"
#include "report/standing.h"
#include "report/strip.h"
#include "report/summary.h"
#include "report/tonight.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::Finding;
using compat::TargetCheck;

constexpr std::array<Standing, standing_count> from_good{Standing::intact, Standing::near,    Standing::audible,
                                                         Standing::severe, Standing::refused, Standing::undecided,
                                                         Standing::damaged};

std::string html_release_name(const CheckReport& report, std::size_t order) {
    return html_text(report.release(order).name);
}

std::string letter(Standing standing) {
    return std::string(1, standing_letter(standing));
}

std::string mark(Standing standing) {
    return "<span class=\"mark " + letter(standing) + "\">" + letter(standing) + "</span>";
}

std::string id_of(std::size_t preset) {
    return 'p' + std::to_string(preset);
}

/// Lines of a text report, each begun by its first word: without indents and bullets.
std::vector<std::string> split_lines(const std::string& text) {
    std::vector<std::string> lines;
    for (std::size_t start = 0; start < text.size();) {
        const std::size_t end = std::min(text.find('\n', start), text.size());
        std::string_view line = std::string_view(text).substr(start, end - start);
        start = end + 1;
        line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
        if (line.starts_with("- ")) line.remove_prefix(2);
        if (!line.empty()) lines.emplace_back(line);
    }
    return lines;
}

void append_list_html(std::string& out, const std::vector<std::string>& lines) {
    if (lines.empty()) return;
    out += "<ul class=\"told\">\n";
    for (const std::string& line : lines) out += "<li>" + html_text(line) + "</li>\n";
    out += "</ul>\n";
}

/// What was asked as the heading, a caution as an alarm, the rest as a list.
void append_told(std::string& out, const CheckReport& report) {
    std::string text;
    append_summary(text, report, Style{endless, false});
    const std::vector<std::string> lines = split_lines(text);
    std::vector<std::string> rest;
    for (std::size_t i = 0; i < lines.size(); ++i) {
        if (i == 0) {
            const std::string_view asked(lines[i]);
            out += "<h1>" + html_text(asked.ends_with(':') ? asked.substr(0, asked.size() - 1) : asked) + "</h1>\n";
        } else if (lines[i].starts_with("MONITORS DOWN")) {
            out += "<p class=\"alarm\" role=\"note\">" + html_text(lines[i]) + "</p>\n";
        } else {
            rest.push_back(lines[i]);
        }
    }
    append_list_html(out, rest);
    out += "<p>" + html_text(promise()) + "</p>\n";
}

void append_counts_html(std::string& out, const CheckReport& report) {
    out +=
        "<h2>How many presets</h2>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"How many "
        "presets\">"
        "<table>\n<tr><th>release</th><th>safe</th>";
    for (const Standing standing : from_good) {
        out += "<th class=\"n\">" + mark(standing) + ' ' + std::string(standing_word(standing)) + "</th>";
    }
    out += "<th class=\"n\">with a caution</th></tr>\n";
    for (std::size_t i = 0; i < report.targets.size(); ++i) {
        const Tally counts = tally(report, i);
        out += "<tr><td>" + html_release_name(report, report.targets[i]) + "</td><td>" +
               bar(counts.of(Standing::intact), counts.of(Standing::near), report.presets.size()) + "</td>";
        for (const Standing standing : from_good) {
            out += "<td class=\"n\">" + std::to_string(counts.of(standing)) + "</td>";
        }
        out += "<td class=\"n\">" + std::to_string(counts.cautions()) + "</td></tr>\n";
    }
    out += "</table></div>\n";
}

/// All findings by outcome, those that weigh nothing too.
void append_outcomes_html(std::string& out, const CheckReport& report) {
    const std::vector<OutcomeCount> counts = outcome_counts(report);
    if (counts.empty()) return;
    out +=
        "<h2>What happens, and how often</h2>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" "
        "aria-label=\"What happens, and how often\"><table id=\"outcomes\">\n<tr><th>outcome</th><th>what "
        "happens</th><th>silent</th>";
    for (const std::size_t target : report.targets)
        out += "<th class=\"n\">on " + html_release_name(report, target) + "</th>";
    out += "</tr>\n";
    for (const OutcomeCount& count : counts) {
        out += "<tr><td>" + std::string(count.row->name) + "</td><td>" + html_text(count.row->title) + "</td><td>" +
               (count.row->silent ? "yes" : "") + "</td>";
        for (const std::size_t one : count.on) out += "<td class=\"n\">" + std::to_string(one) + "</td>";
        out += "</tr>\n";
    }
    out +=
        "</table></div>\n<p class=\"legend\">Parameters of all presets, those included where nobody hears it; these "
        "are not listed below. Silent: the unit shows nothing wrong.</p>\n";
}

Standing worst_standing(const compat::PresetCheck& check) {
    return standing_of(check, check.targets[worst_target(check)]);
}

/// The slots of a file in order, each with its worst verdict; empty ones are there too.
void append_grid(std::string& out, const CheckReport& report, std::size_t file) {
    std::map<int, std::vector<std::size_t>> by_slot;
    bool any = false;
    for (std::size_t i = 0; i < report.presets.size(); ++i) {
        if (report.presets[i].file != file) continue;
        any = true;
        by_slot[report.presets[i].check.slot].push_back(i);
    }
    if (!any) return;
    for (const int slot : report.files[file].empty) by_slot.try_emplace(slot);
    out += "<h2>" + html_text(files::last_part(report.files[file].file)) + "</h2>\n<ol class=\"grid\">\n";
    for (const auto& [slot, presets] : by_slot) {
        if (presets.empty()) {
            out += "<li><span class=\"none\" title=\"empty\">" + std::to_string(slot) +
                   "\n<b aria-label=\"empty\" role=\"img\">-</b></span></li>\n";
        }
        for (const std::size_t i : presets) {
            const PresetReport& preset = report.presets[i];
            const Standing standing = worst_standing(preset.check);
            out += "<li data-of=\"" + id_of(i) + "\"><a class=\"" + letter(standing) + "\" href=\"#" + id_of(i) +
                   "\" title=\"" + html_text(preset.check.name) + ", " + std::string(standing_word(standing)) + "\">" +
                   html_text(slot_label(preset)) + "\n<b>" + letter(standing) + "</b></a></li>\n";
        }
    }
    out += "</ol>\n<p class=\"legend\">";
    for (const Standing standing : from_good) {
        out +=
            mark(standing) + ' ' + std::string(standing_word(standing)) + (standing == Standing::damaged ? "; " : ", ");
    }
    out += "- empty" + std::string(report.targets.size() > 1 ? "; the worst of all releases" : "") + ".</p>\n";
}

void append_matrix_html(std::string& out, const CheckReport& report) {
    if (report.targets.size() < 2) return;
    out +=
        "<h2>Presets and releases</h2>\n<div class=\"scroll tall\" tabindex=\"0\" role=\"region\" aria-label=\"Presets "
        "and "
        "releases\"><table class=\"matrix\">\n<tr><th>preset</th>";
    for (const std::size_t target : report.targets) out += "<th>" + html_release_name(report, target) + "</th>";
    out += "</tr>\n";
    std::size_t everywhere = 0;
    for (const std::size_t i : preset_order(report)) {
        const PresetReport& preset = report.presets[i];
        if (worst_standing(preset.check) == Standing::intact) {
            ++everywhere;
            continue;
        }
        out += "<tr data-of=\"" + id_of(i) + "\"><td><a href=\"#" + id_of(i) + "\">" + html_text(slot_label(preset)) +
               "</a> " + html_text(preset.check.name) + "</td>";
        for (const TargetCheck& target : preset.check.targets) {
            out += "<td>" + mark(standing_of(preset.check, target)) + (target.cautions.empty() ? "" : "!") + "</td>";
        }
        out += "</tr>\n";
    }
    out += "</table></div>\n<p class=\"legend\">! monitors down before the first note. ";
    if (everywhere > 0) out += html_text(presets(everywhere)) + " intact on all of them not shown here.";
    out += "</p>\n";
}

/// One difference, and the releases on which it comes out the same.
struct Told {
    const Finding* finding = nullptr;
    std::vector<std::size_t> targets;
};

bool alike(const Finding& a, const Finding& b) {
    return a.parameter == b.parameter && a.outcome == b.outcome && a.weight == b.weight && a.best == b.best &&
           a.activity == b.activity && a.saved == b.saved && a.loaded == b.loaded && a.rule == b.rule;
}

std::vector<Told> differences_of(const compat::PresetCheck& check) {
    std::vector<Told> told;
    for (std::size_t t = 0; t < check.targets.size(); ++t) {
        for (const std::size_t index : finding_order(check.targets[t])) {
            const Finding& finding = check.targets[t].findings[index];
            if (finding.weight == compat::Weight::none) continue;
            const auto at = std::ranges::find_if(told, [&](const Told& one) { return alike(*one.finding, finding); });
            if (at == told.end()) {
                told.push_back({&finding, {t}});
            } else {
                at->targets.push_back(t);
            }
        }
    }
    std::ranges::stable_sort(told, [](const Told& a, const Told& b) { return told_before(*a.finding, *b.finding); });
    return told;
}

void append_differences(std::string& out, const CheckReport& report, const compat::PresetCheck& check,
                        const std::string& name) {
    const std::vector<Told> told = differences_of(check);
    if (told.empty()) return;
    const bool several = report.targets.size() > 1;
    const bool strips = std::ranges::any_of(told, [](const Told& one) { return !strip(*one.finding).empty(); });
    out += "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Differences of " + html_text(name) +
           "\"><table>\n<tr><th>weight</th>";
    if (several) out += "<th>on</th>";
    out += "<th>what happens</th>";
    if (strips) out += "<th>ranges: saved above, there below</th>";
    out += "</tr>\n";
    for (const Told& one : told) {
        const Finding& finding = *one.finding;
        const compat::OutcomeRow& row = compat::row_of(finding.outcome);
        out += "<tr><td>" + std::string(compat::weight_name(finding.weight)) + "</td>";
        if (several) {
            std::string names;
            for (const std::size_t target : one.targets) {
                names += (names.empty() ? "" : ", ") + html_release_name(report, report.targets[target]);
            }
            out += "<td>" + names + "</td>";
        }
        out += "<td>" + html_text(finding.parameter + ' ' + fate(finding)) + "<br><span class=\"facts\">" +
               std::string(row.name) + (row.silent ? ", silent" : "") + "; " + html_text(finding.rule) +
               (finding.brought_by.empty() ? "" : "; right from " + html_text(finding.brought_by)) + "</span></td>" +
               (strips ? "<td>" + strip(finding) + "</td>" : "") + "</tr>\n";
    }
    out += "</table></div>\n";
}

void append_target_notes(std::string& out, const CheckReport& report, const compat::PresetCheck& check) {
    std::set<std::string> lines;
    for (const TargetCheck& target : check.targets) {
        const std::string on = " on " + report.release(target.release).name;
        if (!target.reason.empty()) {
            lines.insert(std::string(compat::verdict_name(target.verdict)) + on + ": " + target.reason);
        }
        for (const compat::Caution& caution : target.cautions) {
            lines.insert("monitors down" + on + ": " + caution.parameter + ", " + caution_words(caution));
        }
        for (const std::string& risk : target.risks) lines.insert("risk" + on + ": " + risk);
    }
    append_list_html(out, {lines.begin(), lines.end()});
}

void append_preset(std::string& out, const CheckReport& report, std::size_t i, bool several_files) {
    const PresetReport& preset = report.presets[i];
    const std::size_t worst = worst_target(preset.check);
    const Standing standing = standing_of(preset.check, preset.check.targets[worst]);
    const std::string file = files::last_part(report.files[preset.file].file);
    std::string standings;
    for (const TargetCheck& target : preset.check.targets) standings += letter(standing_of(preset.check, target));
    out += "<details id=\"" + id_of(i) + "\" data-s=\"" + letter(standing) + "\" data-on=\"" + standings +
           "\" data-slot=\"" + std::to_string(preset.check.slot) + "\" data-name=\"" + html_text(preset.check.name) +
           "\"><summary>" + mark(standing) + " <b>" + html_text(slot_words(preset)) + ' ' +
           html_text(quoted_name(preset.check.name)) + "</b> <span>" + (several_files ? html_text(file) + ", " : "") +
           std::string(standing_word(standing)) + "</span><span class=\"why\">" +
           html_text(main_reason(preset, preset.check.targets[worst])) +
           "</span></summary>\n<div>\n<p class=\"facts\">" + html_text(file) + ", " +
           html_text(saved_words(report, preset.check)) + "</p>\n";
    for (const Problem& problem : preset.damage) out += "<p>" + html_text(brief_problem(problem.what)) + "</p>\n";
    append_target_notes(out, report, preset.check);
    append_differences(out, report, preset.check, slot_words(preset) + " of " + file);
    out += "</div></details>\n";
}

void append_form(std::string& out, const CheckReport& report) {
    out += "<form hidden autocomplete=\"off\">\n<label>Text <input type=\"search\" name=\"text\"></label>\n";
    out += "<label>Judged on <select name=\"on\"><option value=\"\">the worst release</option>";
    for (std::size_t i = 0; i < report.targets.size(); ++i) {
        out +=
            "<option value=\"" + std::to_string(i) + "\">" + html_release_name(report, report.targets[i]) + "</option>";
    }
    out +=
        "</select></label>\n<label>Order <select name=\"sort\"><option value=\"worst\">worst first</option>"
        "<option value=\"slot\">slot</option><option value=\"name\">name</option></select></label>\n"
        "<fieldset><legend>Verdicts</legend>";
    for (const Standing standing : from_good) {
        out += "<label><input type=\"checkbox\" name=\"s\" value=\"" + letter(standing) + "\" checked> " +
               std::string(standing_word(standing)) + "</label>\n";
    }
    out += "</fieldset>\n<output id=\"shown\"></output>\n</form>\n";
}

}  // namespace

std::string check_html(const CheckReport& report) {
    std::string out = "<header>\n";
    append_told(out, report);
    out += "</header>\n<main>\n";
    append_counts_html(out, report);
    append_outcomes_html(out, report);
    append_tonight_html(out, report);
    for (std::size_t file = 0; file < report.files.size(); ++file) append_grid(out, report, file);
    append_matrix_html(out, report);
    out += "<h2>Presets, worst first</h2>\n";
    append_form(out, report);
    out += "<div id=\"presets\">\n";
    std::set<std::size_t> with_presets;
    for (const PresetReport& preset : report.presets) with_presets.insert(preset.file);
    for (const std::size_t i : preset_order(report)) append_preset(out, report, i, with_presets.size() > 1);
    out += "</div>\n</main>\n<footer>\n<h2>Besides</h2>\n";
    std::string closing;
    append_closing(closing, report, Style{endless, false});
    append_list_html(out, split_lines(closing));
    out += "</footer>\n";
    const std::string device = report.device->title.empty() ? report.device->name : report.device->title;
    return page("Downfit: " + presets(report.presets.size()) + " of the " + device, out);
}

}  // namespace downfit::report
