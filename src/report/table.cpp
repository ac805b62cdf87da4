#include "report/table.h"

#include <algorithm>
#include <array>

#include "report/escape.h"
#include "report/layout.h"
#include "report/ruling.h"
#include "report/words.h"

namespace downfit::report {

namespace {

constexpr std::size_t slot_width = 5;
constexpr std::size_t verdict_width = 9;
constexpr std::size_t least_reason = 20;
constexpr std::array all_standings{Standing::intact,    Standing::near,    Standing::audible, Standing::severe,
                                   Standing::undecided, Standing::refused, Standing::damaged};

std::string_view verdict_word(Standing standing) {
    return standing == Standing::severe || standing == Standing::audible ? "altered" : standing_word(standing);
}

/// "severe", or "none-severe" where best and worst differ.
std::string weight_words(const compat::TargetCheck& target, Standing standing) {
    if (standing == Standing::refused || standing == Standing::damaged || target.findings.empty()) return "-";
    compat::Weight best = compat::Weight::none;
    for (const compat::Finding& finding : target.findings) best = std::max(best, finding.best);
    const std::string worst(compat::weight_name(heaviest(target)));
    const bool apart = standing == Standing::undecided && best != heaviest(target);
    return apart ? std::string(compat::weight_name(best)) + '-' + worst : worst;
}

std::vector<std::size_t> of_file(const CheckReport& report, std::vector<std::size_t> order, std::size_t file) {
    std::erase_if(order, [&](std::size_t preset) { return report.presets[preset].file != file; });
    return order;
}

std::string shown_name(const PresetReport& preset) {
    return preset.check.name.empty() ? "(no name)" : brief(preset.check.name);
}

std::size_t name_width(const CheckReport& report, std::size_t most) {
    std::size_t width = 4;
    for (const PresetReport& preset : report.presets) width = std::max(width, columns(shown_name(preset)));
    return std::min(width, most);
}

std::size_t right_from_width(const CheckReport& report) {
    std::size_t width = 0;
    for (const PresetReport& preset : report.presets)
        width = std::max(width, columns(right_from(preset.check.targets[0])));
    return width == 0 ? 0 : std::clamp<std::size_t>(width, 10, 14);
}

std::size_t weight_width(const CheckReport& report) {
    std::size_t width = 6;
    for (const PresetReport& preset : report.presets) {
        const compat::TargetCheck& target = preset.check.targets[0];
        width = std::max(width, weight_words(target, standing_of(preset.check, target)).size());
    }
    return width;
}

std::string caution_mark(const compat::TargetCheck& target) {
    return target.cautions.empty() ? "" : "! ";
}

/// Whether the main reason is one that the policy accepts.
bool main_is_accepted(const CheckReport& report, const PresetReport& preset, const compat::TargetCheck& target) {
    const compat::Finding* main = main_finding(target);
    if (main == nullptr) return false;
    return !accepted_words(report, preset, target)[static_cast<std::size_t>(main - target.findings.data())].empty();
}

/// The reason column: cautions first, then why; for what has no findings, also that it was saved later.
std::string reason_cell(const PresetReport& preset, const CheckReport& report) {
    const compat::TargetCheck& target = preset.check.targets[0];
    std::string text = caution_mark(target) + (main_is_accepted(report, preset, target) ? "accepted: " : "") +
                       main_reason(preset, target, true);
    const bool undecided = standing_of(preset.check, target) == Standing::undecided;
    if (target.stamped_later && undecided && target.findings.empty()) {
        text = saved_words(report, preset.check) + ", later than " + brief(report.release(target.release).name) + "; " +
               text;
    }
    return text;
}

struct Widths {
    std::size_t name = 0, weight = 0, reason = 0, right_from = 0;
};

Widths widths_of(const CheckReport& report, const Style& style) {
    Widths widths{name_width(report, style.width >= 120   ? 28
                                     : style.width >= 100 ? 22
                                                          : 16),
                  weight_width(report), least_reason, right_from_width(report)};
    const std::size_t taken = slot_width + widths.name + verdict_width + widths.weight + 8 +
                              (widths.right_from > 0 ? widths.right_from + 2 : 0);
    if (style.width > taken) widths.reason = std::max(least_reason, style.width - taken);
    return widths;
}

void append_head(std::string& out, const Widths& widths) {
    append_line(out, right("slot", slot_width) + "  " + left("name", widths.name) + "  " +
                         left("verdict", verdict_width) + "  " + left("weight", widths.weight) + "  " +
                         left("main reason", widths.reason) + (widths.right_from > 0 ? "  right from" : ""));
}

void append_row(std::string& out, const CheckReport& report, const PresetReport& preset, const Widths& widths,
                const Style& style) {
    const compat::TargetCheck& target = preset.check.targets[0];
    const Standing standing = standing_of(preset.check, target);
    append_line(out, right(slot_label(preset), slot_width) + "  " + left(shown_name(preset), widths.name) + "  " +
                         paint(left(verdict_word(standing), verdict_width), tone_of(standing), style) + "  " +
                         left(weight_words(target, standing), widths.weight) + "  " +
                         left(reason_cell(preset, report), widths.reason) + "  " +
                         left(right_from(target), widths.right_from));
}

/// Folded: the slots of presets that nothing needs to be said about.
void append_intact(std::string& out, const CheckReport& report, const std::vector<std::size_t>& intact,
                   const Style& style) {
    if (intact.empty()) return;
    std::vector<int> slots;
    for (const std::size_t preset : intact) {
        if (report.presets[preset].check.slot >= 0) slots.push_back(report.presets[preset].check.slot);
    }
    std::sort(slots.begin(), slots.end());
    std::string text = presets(intact.size()) + " intact" + (report.targets.size() > 1 ? " on all of them" : "");
    if (slots.size() == intact.size())
        text += ": " + std::string(slots.size() == 1 ? "slot " : "slots ") + ranges_text(slots);
    append_wrapped(out, text, style.width, slot_width + 2, slot_width + 4);
}

/// What the matrix writes above its columns: names of releases, or numbers where names are too wide.
struct Columns {
    std::vector<std::string> heads;
    std::size_t width = 0;
    std::string key;  ///< what the numbers mean
};

Columns matrix_columns(const CheckReport& report, std::size_t room) {
    Columns columns_;
    std::size_t widest = 2;
    for (const std::size_t target : report.targets) {
        columns_.heads.push_back(brief(report.release(target).name));
        widest = std::max(widest, columns(columns_.heads.back()));
    }
    columns_.width = widest + 2;
    if (columns_.width * columns_.heads.size() <= room) return columns_;
    for (std::size_t i = 0; i < columns_.heads.size(); ++i) {
        const std::string number = '(' + std::to_string(i + 1) + ')';
        columns_.key += (i == 0 ? "" : ", ") + number + ' ' + columns_.heads[i];
        columns_.heads[i] = number;
    }
    columns_.width = std::to_string(columns_.heads.size()).size() + 4;
    return columns_;
}

std::string floor_cell(const CheckReport& report, const compat::PresetCheck& preset) {
    if (!preset.near || !preset.near->oldest) return "-";
    return brief(report.release(*preset.near->oldest).name);
}

bool is_intact_everywhere(const PresetReport& preset) {
    return std::all_of(preset.check.targets.begin(), preset.check.targets.end(),
                       [&](const compat::TargetCheck& target) {
                           return standing_of(preset.check, target) == Standing::intact && target.cautions.empty();
                       });
}

void append_matrix_row(std::string& out, const CheckReport& report, const PresetReport& preset, std::size_t names,
                       std::size_t floors, const Columns& heads, const Style& style) {
    std::string line = right(slot_label(preset), slot_width) + "  " + left(shown_name(preset), names);
    if (floors > 0) line += "  " + left(floor_cell(report, preset.check), floors);
    for (const compat::TargetCheck& target : preset.check.targets) {
        const Standing standing = standing_of(preset.check, target);
        const std::string cell{standing_letter(standing), target.cautions.empty() ? ' ' : '!'};
        line += std::string(heads.width - cell.size(), ' ') + paint(cell, tone_of(standing), style);
    }
    append_line(out, line);
}

void append_legend(std::string& out, const Columns& heads, bool floors, const Style& style) {
    std::string text;
    for (const Standing standing : all_standings) {
        if (!text.empty()) text += ", ";
        text += std::string(1, standing_letter(standing)) + ' ' + std::string(standing_word(standing));
    }
    text += "; ! monitors down first.";
    if (floors)
        text += " \"safe from\": intact or near on that release and every later one up to the one that saved it.";
    append_wrapped(out, text, style.width, slot_width + 2, slot_width + 4);
    if (!heads.key.empty()) append_wrapped(out, heads.key, style.width, slot_width + 2, slot_width + 4);
}

}  // namespace

Tone tone_of(Standing standing) {
    switch (standing) {
        case Standing::intact: return Tone::good;
        case Standing::near: return Tone::mild;
        case Standing::audible: return Tone::bad;
        case Standing::undecided: return Tone::unknown;
        case Standing::severe:
        case Standing::refused:
        case Standing::damaged: break;
    }
    return Tone::worst;
}

Tone tone_of(compat::Weight weight) {
    switch (weight) {
        case compat::Weight::none: return Tone::faint;
        case compat::Weight::slight: return Tone::mild;
        case compat::Weight::audible: return Tone::bad;
        case compat::Weight::severe: break;
    }
    return Tone::worst;
}

std::string file_heading(const CheckReport& report, std::size_t file) {
    const InputFile& input = report.files[file];
    const auto count = static_cast<std::size_t>(std::count_if(
        report.presets.begin(), report.presets.end(), [&](const PresetReport& preset) { return preset.file == file; }));
    std::string text = printable(input.file) + ": " + presets(count);
    if (report.filtered()) text += " chosen";
    if (!input.empty.empty()) text += ", " + counted(input.empty.size(), "empty slot", "empty slots");
    if (!input.absent.empty()) text += ", " + counted(input.absent.size(), "absent slot", "absent slots");
    return text;
}

void append_table(std::string& out, const CheckReport& report, const Style& style) {
    const Widths widths = widths_of(report, style);
    const std::vector<std::size_t> order = preset_order(report, 0);
    for (std::size_t file = 0; file < report.files.size(); ++file) {
        const std::vector<std::size_t> rows = of_file(report, order, file);
        if (rows.empty()) continue;
        out += '\n' + paint(file_heading(report, file), Tone::strong, style) + '\n';
        std::vector<std::size_t> intact;
        bool first = true;
        for (const std::size_t row : rows) {
            const PresetReport& preset = report.presets[row];
            const compat::TargetCheck& target = preset.check.targets[0];
            if (standing_of(preset.check, target) == Standing::intact && target.cautions.empty()) {
                intact.push_back(row);
                continue;
            }
            if (first) append_head(out, widths);
            first = false;
            append_row(out, report, preset, widths, style);
        }
        append_intact(out, report, intact, style);
    }
    if (tally(report, 0).cautions() > 0) append_line(out, "! before a reason: monitors down before the first note");
}

void append_matrix(std::string& out, const CheckReport& report, const Style& style) {
    const std::size_t names = name_width(report, 24);
    std::size_t floors = 0;
    if (report.all_releases) {
        floors = 9;
        for (const PresetReport& preset : report.presets)
            floors = std::max(floors, columns(floor_cell(report, preset.check)));
    }
    const std::size_t taken = slot_width + names + 2 + (floors > 0 ? floors + 2 : 0);
    const Columns heads = matrix_columns(report, style.width > taken ? style.width - taken : 0);
    const std::vector<std::size_t> order = preset_order(report);
    bool any = false;
    for (std::size_t file = 0; file < report.files.size(); ++file) {
        const std::vector<std::size_t> rows = of_file(report, order, file);
        if (rows.empty()) continue;
        any = true;
        out += '\n' + paint(file_heading(report, file), Tone::strong, style) + '\n';
        std::string line = right("slot", slot_width) + "  " + left("name", names);
        if (floors > 0) line += "  " + left("safe from", floors);
        for (const std::string& head : heads.heads) line += right(head, heads.width);
        append_line(out, line);
        std::vector<std::size_t> intact;
        for (const std::size_t row : rows) {
            if (is_intact_everywhere(report.presets[row])) {
                intact.push_back(row);
            } else {
                append_matrix_row(out, report, report.presets[row], names, floors, heads, style);
            }
        }
        append_intact(out, report, intact, style);
    }
    if (any) append_legend(out, heads, floors > 0, style);
}

}  // namespace downfit::report
