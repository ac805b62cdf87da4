#include "report/check_csv.h"

#include <algorithm>
#include <charconv>
#include <vector>

#include "base/csv.h"
#include "report/contents.h"
#include "report/escape.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using Cells = std::vector<std::string>;

/// A text that no spreadsheet takes for a formula.
std::string text_cell(const std::string& text) {
    const std::string shown = printable(text);
    return starts_like_formula(shown) || shown.starts_with('\'') ? '\'' + shown : shown;
}

/// What is stored: a number as it is, signs and all.
std::string stored_cell(const std::string& stored) {
    double number = 0;
    const auto [end, error] = std::from_chars(stored.data(), stored.data() + stored.size(), number);
    const bool whole = error == std::errc{} && end == stored.data() + stored.size();
    return whole && stored.find_first_not_of("-.0123456789") == std::string::npos ? stored : text_cell(stored);
}

std::string number_cell(const std::optional<std::size_t>& number) {
    return number ? std::to_string(*number) : std::string();
}

/// Adds the items, with semicolons between.
template <class Items, class Text>
std::string joined(const Items& items, Text text) {
    std::string all;
    for (const auto& item : items) all += (all.empty() ? "" : "; ") + text(item);
    return text_cell(all);
}

Cells preset_cells(const CheckReport& report, const PresetReport& preset, const compat::TargetCheck& target) {
    const compat::PresetCheck& check = preset.check;
    const bool damaged = check.state == dump::SlotState::damaged;
    return {text_cell(report.files[preset.file].file),
            check.slot >= 0 ? std::to_string(check.slot) : std::string(),
            std::to_string(check.entry + 1),
            text_cell(check.name),
            std::string(state_name(check.state)),
            stored_cell(check.stamp),
            target.saved_on ? text_cell(report.release(*target.saved_on).name) : std::string(),
            text_cell(report.release(target.release).name),
            std::string(compat::verdict_name(target.verdict)),
            std::string(compat::verdict_name(target.best)),
            std::string(compat::verdict_name(target.worst)),
            damaged ? text_cell(main_reason(preset, target)) : text_cell(target.reason),
            joined(target.cautions,
                   [](const compat::Caution& caution) {
                       return std::string(compat::caution_key(caution.kind)) + ' ' + caution.parameter + " (" +
                              caution_words(caution) + ')';
                   }),
            std::to_string(target.parameters)};
}

void add_side(Cells& cells, const std::optional<compat::Shown>& shown, const std::optional<std::size_t>& offset) {
    cells.push_back(shown ? stored_cell(shown->stored.value_or("")) : std::string());
    cells.push_back(shown ? text_cell(shown->value) : std::string());
    cells.push_back(shown ? number_cell(offset) : std::string());
}

void add_finding(Cells& cells, const compat::TargetCheck& target, const compat::Finding& finding) {
    const compat::OutcomeRow& row = compat::row_of(finding.outcome);
    const std::string& there = finding.parameter_there.empty() ? finding.parameter : finding.parameter_there;
    cells.push_back(text_cell(finding.parameter));
    cells.push_back(finding.loaded ? text_cell(there) : std::string());
    cells.emplace_back(row.name);
    cells.emplace_back(row.silent ? "yes" : "no");
    cells.emplace_back(compat::weight_name(finding.weight));
    cells.emplace_back(compat::weight_name(finding.best));
    cells.emplace_back(compat::activity_name(finding.activity));
    add_side(cells, finding.saved, finding.saved_offset);
    add_side(cells, finding.loaded, finding.loaded_offset);
    cells.push_back(text_cell(finding.saved_overflow));
    cells.push_back(text_cell(finding.rule));
    cells.push_back(joined(finding.alternatives, [](const compat::Alternative& other) {
        return other.assumption + " -> " + std::string(compat::row_of(other.outcome).name) + ", " +
               std::string(compat::weight_name(other.weight));
    }));
    cells.push_back(text_cell(finding.brought_by));
    cells.push_back(finding.cause ? text_cell(target.causes[*finding.cause].what) : std::string());
    cells.push_back(finding.fingerprint);
}

}  // namespace

std::string check_csv(const CheckReport& report) {
    std::string csv;
    append_csv_row(csv, {csv_columns.begin(), csv_columns.end()});
    for (const PresetReport& preset : report.presets) {
        for (const compat::TargetCheck& target : preset.check.targets) {
            const Cells start = preset_cells(report, preset, target);
            for (const compat::Finding& finding : target.findings) {
                Cells cells = start;
                add_finding(cells, target, finding);
                append_csv_row(csv, cells);
            }
            if (!target.findings.empty()) continue;
            Cells cells = start;
            cells.resize(csv_columns.size());
            append_csv_row(csv, cells);
        }
    }
    return csv;
}

}  // namespace downfit::report
