#include "report/summary.h"

#include <algorithm>
#include <map>
#include <set>

#include "files/input.h"
#include "report/escape.h"
#include "report/installing.h"
#include "report/layout.h"
#include "report/problems.h"
#include "report/ruling.h"
#include "report/standing.h"
#include "report/tonight.h"
#include "report/words.h"

namespace downfit::report {

namespace {

constexpr std::size_t most_target_lines = 5;
constexpr std::size_t longest_name = 32;

std::string device_title(const CheckReport& report) {
    return brief(report.device->title.empty() ? report.device->name : report.device->title);
}

std::string target_name(const CheckReport& report, std::size_t target) {
    return brief(report.release(report.targets[target]).name);
}

std::string file_name(const InputFile& file) {
    return cut(printable(files::last_part(file.file)), longest_name);
}

std::string files_text(const CheckReport& report) {
    std::set<std::size_t> files;
    for (const PresetReport& preset : report.presets) files.insert(preset.file);
    if (files.empty() || files.size() > 3) return counted(report.files.size(), "file", "files");
    std::string text;
    for (const std::size_t file : files) {
        if (!text.empty()) text += ", ";
        text += file_name(report.files[file]);
    }
    return text;
}

/// "saved on 3.00" or "saved on 3.00 (18) and 2.10 (2)".
std::string saved_text(const CheckReport& report) {
    std::map<std::string, std::size_t> counts;
    for (const PresetReport& preset : report.presets) ++counts[saved_words(report, preset.check)];
    if (counts.size() == 1) return counts.begin()->first;
    if (counts.size() > 3) return "saved on different releases";
    std::string text;
    for (const auto& [words, count] : counts) {
        if (!text.empty()) text += ", ";
        text += std::to_string(count) + ' ' + words;
    }
    return text;
}

void append_title(std::string& out, const CheckReport& report, const Style& style) {
    std::string text = presets(report.presets.size()) + " from " + files_text(report);
    if (!report.presets.empty()) text += ", " + saved_text(report) + ',';
    text += " loaded on paper on " + device_title(report);
    if (report.targets.size() == 1) {
        text += " release " + target_name(report, 0);
    } else {
        text += ", " + std::to_string(report.targets.size()) + " releases";
    }
    if (!report.variant.empty()) text += " (" + brief(report.variant) + ')';
    std::string lines;
    append_wrapped(lines, text + ':', style.width, 0, 2);
    lines.pop_back();
    out += paint(lines, Tone::strong, style) + '\n';
}

void append_count(std::string& out, std::size_t number, const std::string& words, Tone tone, const Style& style) {
    if (number == 0) return;
    out += "  " + right(std::to_string(number), 4) + ' ' + paint(words, tone, style) + '\n';
}

std::string change_count_words(const Tally& counts) {
    const std::string verb = counts.change() == 1 ? "changes" : "change";
    const std::size_t severe = counts.of(Standing::severe);
    if (severe == counts.change()) return verb + " severely";
    return verb + " audibly" + (severe > 0 ? ", " + std::to_string(severe) + " of them severely" : "");
}

void append_summary_counts(std::string& out, const CheckReport& report, const Style& style) {
    const Tally counts = tally(report, 0);
    std::string safe = "safe to load";
    if (counts.of(Standing::near) > 0) {
        safe += ": " + std::to_string(counts.of(Standing::intact)) + " intact, " +
                std::to_string(counts.of(Standing::near)) + " with slight differences";
    } else {
        safe += ", intact";
    }
    std::string undecided = "cannot be decided";
    if (counts.undecided_later > 0) {
        undecided +=
            ", " + std::to_string(counts.undecided_later) + " of them saved later than " + target_name(report, 0);
    }
    append_count(out, counts.safe(), safe, Tone::good, style);
    append_count(out, counts.change(), change_count_words(counts), Tone::bad, style);
    append_count(out, counts.of(Standing::refused), "will not load: refused", Tone::worst, style);
    append_count(out, counts.of(Standing::undecided), undecided, Tone::unknown, style);
    append_count(out, counts.of(Standing::damaged), "damaged in the file, not judged", Tone::worst, style);
}

/// One line for each release, of few releases.
void append_target_counts(std::string& out, const CheckReport& report, const Style& style) {
    for (std::size_t target = 0; target < report.targets.size(); ++target) {
        const Tally counts = tally(report, target);
        std::string text = target_name(report, target) + ": " + std::to_string(counts.safe()) + " safe";
        const auto add = [&](std::size_t number, std::string_view word) {
            if (number > 0) text += ", " + std::to_string(number) + ' ' + std::string(word);
        };
        add(counts.change(), counts.change() == 1 ? "changes audibly" : "change audibly");
        add(counts.of(Standing::refused), "refused");
        add(counts.of(Standing::undecided), "undecided");
        add(counts.of(Standing::damaged), "damaged");
        append_wrapped(out, text, style.width, 2, 4);
    }
}

/// Of many releases: how many presets are safe on each, in few lines.
void append_safe_counts(std::string& out, const CheckReport& report, const Style& style) {
    std::string text = "Safe to load, of " + std::to_string(report.presets.size()) + ':';
    for (std::size_t target = report.targets.size(); target > 0; --target) {
        text += ' ' + std::to_string(tally(report, target - 1).safe()) + " on " + target_name(report, target - 1);
        text += target > 1 ? ',' : '.';
    }
    append_wrapped(out, text, style.width, 2, 4);
    std::size_t damaged = 0;
    for (const PresetReport& preset : report.presets) damaged += preset.check.state == dump::SlotState::damaged ? 1 : 0;
    append_count(out, damaged, "damaged in the file, not judged", Tone::worst, style);
}

/// Whether every preset with a caution is among those that the counts call audibly or severely changed.
bool only_where_it_changes(const CheckReport& report) {
    if (report.targets.size() != 1) return false;
    return std::all_of(report.presets.begin(), report.presets.end(), [](const PresetReport& preset) {
        const compat::TargetCheck& target = preset.check.targets.front();
        const Standing standing = standing_of(preset.check, target);
        return target.cautions.empty() || standing == Standing::audible || standing == Standing::severe;
    });
}

void append_cautions(std::string& out, const CheckReport& report, const Style& style) {
    const Tally counts = cautions_anywhere(report);
    if (counts.cautions() == 0) return;
    std::string text;
    const std::string among = only_where_it_changes(report) ? " of those that change" : "";
    const auto add = [&](std::size_t number, std::string_view words) {
        if (number == 0) return;
        text += text.empty() ? ' ' + (among.empty() ? presets(number) : std::to_string(number) + among)
                             : ", " + std::to_string(number);
        text += ' ' + std::string(words);
    };
    add(counts.louder, "may come out 6 dB or more louder");
    add(counts.feedback, "may run into feedback");
    add(counts.level_unknown, "may come out at any level, louder too");
    std::string lines;
    append_wrapped(lines, "MONITORS DOWN before the first note:" + text + '.', style.width, 0, 2);
    lines.pop_back();
    out += paint(lines, Tone::caution, style) + '\n';
}

void append_worst(std::string& out, const CheckReport& report, const PresetReport& worst, std::size_t target,
                  const Style& style) {
    const compat::TargetCheck& check = worst.check.targets[target];
    const compat::Finding* main = main_finding(check);
    std::string text = "Worst: " + slot_words(worst) + ' ' + cut(quoted_name(worst.check.name), longest_name);
    const bool several = std::any_of(report.presets.begin(), report.presets.end(),
                                     [&](const PresetReport& preset) { return preset.file != worst.file; });
    if (several) text += " of " + file_name(report.files[worst.file]);
    if (report.targets.size() > 1) text += " on " + target_name(report, target);
    text += ": " + main_reason(worst, check) + '.';
    if (main != nullptr && compat::row_of(main->outcome).silent) text += " The unit shows nothing wrong.";
    append_wrapped(out, text, style.width, 0, 2);
}

/// Files that are not whole, whatever became of their presets.
void append_broken_files(std::string& out, const CheckReport& report, const Style& style) {
    const auto is_broken = [](const InputFile& file) { return !file.damage.empty(); };
    const auto first = std::find_if(report.files.begin(), report.files.end(), is_broken);
    if (first == report.files.end()) return;
    const auto others = std::count_if(first + 1, report.files.end(), is_broken);
    std::string text = file_name(*first) + " is not whole: " + printable(first->damage);
    if (others > 0) text += ", and " + counted(static_cast<std::size_t>(others), "other file", "other files");
    append_wrapped(out, text + '.', style.width, 0, 2);
}

/// Every preset of a file failing the same check says more about the schema than about the file.
void append_alike(std::string& out, const CheckReport& report, const Style& style) {
    for (std::size_t file = 0; file < report.files.size(); ++file) {
        std::vector<const Problems*> damage;
        for (const PresetReport& preset : report.presets) {
            if (preset.file == file) damage.push_back(&preset.damage);
        }
        const std::string advice = failing_alike(damage);
        if (advice.empty()) continue;
        append_wrapped(out, advice, style.width, 0, 2);
        return;
    }
}

void append_step(std::string& out, const CheckReport& report, const Style& style) {
    const Step step = best_step(report);
    if (step.gain == 0) return;
    std::string text = "Going only to " + target_name(report, step.to) + " instead of " +
                       target_name(report, step.from) + " keeps " + std::to_string(step.gain) + " more safe";
    text += step.left == 0 ? "." : "; " + std::to_string(step.left) + " would still not be.";
    append_wrapped(out, text, style.width, 0, 2);
}

/// Whether more than half of what a verdict rests on was only seen in dumps, where nobody says what another release
/// does otherwise.
bool is_guesswork(const compat::TargetCheck& target) {
    return 2 * target.observed > target.parameters;
}

std::size_t guesswork(const CheckReport& report) {
    return static_cast<std::size_t>(std::ranges::count_if(report.presets, [](const PresetReport& preset) {
        return std::ranges::any_of(preset.check.targets, is_guesswork);
    }));
}

/// Verdicts that nothing but dumps stands behind.
void append_observed(std::string& out, const CheckReport& report, const Style& style) {
    std::size_t resting = 0, most = 0;
    for (const PresetReport& preset : report.presets) {
        std::size_t observed = 0;
        for (const compat::TargetCheck& target : preset.check.targets) observed = std::max(observed, target.observed);
        if (observed > 0) ++resting;
        most = std::max(most, observed);
    }
    if (resting == 0) return;
    std::string text = "Only observed, not documented: up to " + counted(most, "parameter", "parameters") + " of " +
                       presets(resting) + '.';
    if (guesswork(report) > 0)
        text += " That is most of them: safe means here that no change is known, not that there is none.";
    append_wrapped(out, text, style.width, 0, 2);
}

}  // namespace

std::string shell_word(const std::string& word) {
    constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./,:+=@%";
    if (!word.empty() && word.find_first_not_of(plain) == std::string::npos) return word;
    std::string quoted = "'";
    for (const char c : word) {
        if (c == '\'') {
            quoted += "'\\''";
        } else {
            quoted += c;
        }
    }
    return quoted + '\'';
}

std::string detail_command(const CheckReport& report, const PresetReport& preset, std::size_t target) {
    if (report.files[preset.file].file == "standard input") return {};
    std::string text = "downfit check " + shell_word(report.files[preset.file].file);
    for (const InputFile& file : report.files) {
        const bool presets = std::find(file.holds.begin(), file.holds.end(), "presets") != file.holds.end();
        if (!presets) text += ' ' + shell_word(file.file);
    }
    text += " --on " + shell_word(report.release(report.targets[target]).name);
    if (preset.check.slot >= 0) text += " --slot " + std::to_string(preset.check.slot);
    return printable(text + report.again + " --detail");
}

void append_results(std::string& out, const CheckReport& report, const Style& style) {
    append_title(out, report, style);
    if (report.presets.empty()) {
        append_line(out, report.left_out > 0 ? "  The filter leaves none of " + presets(report.left_out) + '.'
                                             : "  Nothing to judge.");
        return;
    }
    if (report.targets.size() == 1) {
        append_summary_counts(out, report, style);
    } else if (report.targets.size() <= most_target_lines) {
        append_target_counts(out, report, style);
    } else {
        append_safe_counts(out, report, style);
    }
    append_observed(out, report, style);
    append_closed_ways(out, report, style);
    append_cautions(out, report, style);
    append_tonight_summary(out, report, style);
    append_policy(out, report, style);
    append_baseline(out, report, style);
    const PresetReport& worst = report.presets[preset_order(report).front()];
    const std::size_t target = worst_target(worst.check);
    const Standing standing = standing_of(worst.check, worst.check.targets[target]);
    if (standing != Standing::intact) append_worst(out, report, worst, target, style);
    append_step(out, report, style);
    append_broken_files(out, report, style);
    append_alike(out, report, style);
}

void append_summary(std::string& out, const CheckReport& report, const Style& style) {
    append_results(out, report, style);
    if (report.presets.empty()) return;
    const PresetReport& worst = report.presets[preset_order(report).front()];
    const std::size_t target = worst_target(worst.check);
    const Standing standing = standing_of(worst.check, worst.check.targets[target]);
    const bool whole = std::none_of(report.files.begin(), report.files.end(),
                                    [](const InputFile& file) { return !file.damage.empty(); });
    std::string next = "back up the unit as it is now, then load.";
    if (guesswork(report) > 0)
        next = "back up the unit; put what the maker's notes say of both releases into the release files; check again.";
    if (standing == Standing::damaged || (standing == Standing::intact && !whole))
        next = "read this dump out of the unit once more; it did not arrive whole.";
    if (standing != Standing::damaged && standing != Standing::intact) next = detail_command(report, worst, target);
    if (!next.empty()) append_line(out, "Next: " + next);  // on one line: it is there to be copied
}

}  // namespace downfit::report
