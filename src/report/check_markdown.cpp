#include "report/check_markdown.h"

#include <algorithm>
#include <array>
#include <set>

#include "report/closing.h"
#include "report/escape.h"
#include "report/layout.h"
#include "report/markdown.h"
#include "report/outcome_counts.h"
#include "report/standing.h"
#include "report/summary.h"
#include "report/tonight.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::Finding;
using compat::TargetCheck;

std::string markdown_release_name(const CheckReport& report, std::size_t order) {
    return markdown_text(report.release(order).name);
}

std::string number(std::size_t count) {
    return std::to_string(count);
}

/// Lines of a text report as items of a list; the first as a heading where `heading` says so.
void append_lines(std::string& out, const std::string& text, bool heading) {
    for (std::size_t start = 0; start < text.size();) {
        const std::size_t end = std::min(text.find('\n', start), text.size());
        std::string_view line = std::string_view(text).substr(start, end - start);
        start = end + 1;
        const std::size_t first = line.find_first_not_of(' ');
        if (first == std::string_view::npos) continue;
        line.remove_prefix(first);
        if (line.starts_with("- ")) line.remove_prefix(2);
        out += (heading ? "# " : "- ") + markdown_text(line) + (heading ? "\n\n" : "\n");
        heading = false;
    }
}

bool several_files(const CheckReport& report) {
    std::set<std::size_t> files;
    for (const PresetReport& preset : report.presets) files.insert(preset.file);
    return files.size() > 1;
}

void append_counts_markdown(std::string& out, const CheckReport& report) {
    out += "\n## Presets\n\n";
    append_markdown_head(out, {"on", "intact", "near", "altered", "of them severely", "refused", "undecided", "damaged",
                               "with a caution"});
    for (std::size_t i = 0; i < report.targets.size(); ++i) {
        const Tally counts = tally(report, i);
        append_markdown_row(
            out, {markdown_release_name(report, report.targets[i]), number(counts.of(Standing::intact)),
                  number(counts.of(Standing::near)), number(counts.change()), number(counts.of(Standing::severe)),
                  number(counts.of(Standing::refused)), number(counts.of(Standing::undecided)),
                  number(counts.of(Standing::damaged)), number(counts.cautions())});
    }
}

void append_outcomes_markdown(std::string& out, const CheckReport& report) {
    std::vector<std::string> headings{"outcome", "what happens", "silent"};
    for (const std::size_t target : report.targets) headings.push_back("on " + markdown_release_name(report, target));
    std::string rows;
    for (const OutcomeCount& count : outcome_counts(report)) {
        const compat::OutcomeRow& row = *count.row;
        std::vector<std::string> cells{std::string(row.name), markdown_text(row.title), row.silent ? "yes" : ""};
        for (const std::size_t one : count.on) cells.push_back(number(one));
        append_markdown_row(rows, cells);
    }
    if (rows.empty()) return;
    out += "\n## Outcomes\n\n";
    append_markdown_head(out, headings);
    out += rows;
}

std::string caution_cell(const TargetCheck& target) {
    std::string text;
    for (const compat::Caution& caution : target.cautions) {
        const std::string one = caution.parameter + ": " + caution_words(caution);
        text += (text.empty() ? "" : "; ") + one;
    }
    return markdown_text(text);
}

void append_presets(std::string& out, const CheckReport& report, std::size_t number_of_target) {
    const bool files = several_files(report);
    out += "\n## On " + markdown_release_name(report, report.targets[number_of_target]) + "\n\n";
    std::string rows;
    std::size_t intact = 0;
    for (const std::size_t index : preset_order(report, number_of_target)) {
        const PresetReport& preset = report.presets[index];
        const TargetCheck& target = preset.check.targets[number_of_target];
        const Standing standing = standing_of(preset.check, target);
        if (standing == Standing::intact && target.cautions.empty()) {
            ++intact;
            continue;
        }
        std::vector<std::string> cells;
        if (files) cells.push_back(markdown_text(report.files[preset.file].file));
        cells.push_back(markdown_text(slot_label(preset)));
        cells.push_back(markdown_text(preset.check.name));
        cells.emplace_back(standing == Standing::damaged ? "damaged" : compat::verdict_name(target.verdict));
        cells.emplace_back(compat::weight_name(heaviest(target)));
        cells.push_back(markdown_text(main_reason(preset, target)));
        cells.push_back(markdown_text(right_from(target)));
        cells.push_back(caution_cell(target));
        append_markdown_row(rows, cells);
    }
    if (!rows.empty()) {
        std::vector<std::string> headings{"slot", "name", "verdict", "weight", "main reason", "right from", "caution"};
        if (files) headings.insert(headings.begin(), "file");
        append_markdown_head(out, headings);
        out += rows + '\n';
    }
    if (intact > 0) out += (rows.empty() ? "All " : "All others, ") + presets(intact) + ", intact.\n";
}

std::string side_cell(const std::optional<compat::Shown>& shown) {
    if (!shown) return {};
    const std::string stored = shown->stored && *shown->stored != shown->value ? " (" + *shown->stored + ')' : "";
    return markdown_text(shown->value + stored);
}

void append_findings(std::string& out, const CheckReport& report, const PresetReport& preset,
                     const TargetCheck& target) {
    if (target.findings.empty()) return;
    out += "\n### " + std::string(several_files(report) ? markdown_text(report.files[preset.file].file) + ", " : "") +
           markdown_text(slot_words(preset) + ' ' + quoted_name(preset.check.name)) + " on " +
           markdown_release_name(report, target.release) + "\n\n";
    append_markdown_head(out, {"parameter", "outcome", "weight", "activity", "saved", "there", "decided by", "byte"});
    for (const std::size_t index : finding_order(target)) {
        const Finding& finding = target.findings[index];
        append_markdown_row(out, {markdown_text(finding.parameter), std::string(compat::row_of(finding.outcome).name),
                                  std::string(compat::weight_name(finding.weight)),
                                  std::string(compat::activity_name(finding.activity)), side_cell(finding.saved),
                                  side_cell(finding.loaded), markdown_text(finding.rule),
                                  finding.saved_offset ? number(*finding.saved_offset) : std::string()});
    }
}

}  // namespace

std::string check_markdown(const CheckReport& report, Extent extent) {
    const Style style{endless, false};
    std::string out, summary;
    append_summary(summary, report, style);
    if (extent == Extent::summary) append_promise(summary, style);
    append_lines(out, summary, true);
    append_counts_markdown(out, report);
    append_outcomes_markdown(out, report);
    if (extent == Extent::summary) return out;
    append_tonight_markdown(out, report);
    for (std::size_t i = 0; i < report.targets.size(); ++i) append_presets(out, report, i);
    if (extent == Extent::details) {
        for (const std::size_t index : preset_order(report)) {
            const PresetReport& preset = report.presets[index];
            for (const TargetCheck& target : preset.check.targets) append_findings(out, report, preset, target);
        }
    }
    std::string closing;
    append_closing(closing, report, style);
    out += "\n## Besides\n\n";
    append_lines(out, closing, false);
    return out;
}

}  // namespace downfit::report
