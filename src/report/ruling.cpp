#include "report/ruling.h"

#include <algorithm>
#include <utility>

#include "files/input.h"
#include "report/escape.h"
#include "report/policy_words.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::EntryRuling;
using compat::Lapse;
using schema::Acceptance;

constexpr std::size_t most_ruling_lines = 3;
constexpr std::size_t most_slots = 12;

bool is_damaged(const PresetReport& preset) {
    return preset.check.state == dump::SlotState::damaged;
}

/// `slot 12 "Lead", `.
std::string lapse_subject(const CheckReport& report, const Lapse& lapse) {
    const PresetReport& preset = report.presets[lapse.preset];
    return slot_words(preset) + ' ' + cut(quoted_name(preset.check.name), longest_policy_name) + ", ";
}

void append_lapsed(std::string& out, const CheckReport& report, const Style& style) {
    std::size_t told = 0, more = 0;
    for (std::size_t i = 0; i < report.policy.ruling.entries.size(); ++i) {
        const EntryRuling& entry = report.policy.ruling.entries[i];
        if (entry.lapses.empty()) continue;
        if (told == most_ruling_lines) {
            ++more;
            continue;
        }
        ++told;
        std::string text = "lapsed: " + acceptance_words(report.policy.policy, i) + ": " +
                           lapse_subject(report, entry.lapses.front()) +
                           lapse_words(report.policy.policy.accepted[i], entry.lapses.front());
        if (entry.lapses.size() > 1)
            text += ", and " + counted(entry.lapses.size() - 1, "other finding", "other findings");
        append_wrapped(out, text + '.', style.width, 2, 4);
    }
    if (more > 0)
        append_wrapped(out, counted(more, "more acceptance", "more acceptances") + " lapsed.", style.width, 2, 4);
}

void append_stale(std::string& out, const CheckReport& report, const Style& style) {
    std::string text;
    std::size_t told = 0, more = 0;
    for (std::size_t i = 0; i < report.policy.ruling.entries.size(); ++i) {
        if (!report.policy.ruling.entries[i].stale) continue;
        if (told == most_ruling_lines) {
            ++more;
            continue;
        }
        text += (told++ > 0 ? ", " : "") + acceptance_words(report.policy.policy, i);
    }
    if (told == 0) return;
    if (more > 0) text += " and " + std::to_string(more) + " more";
    append_wrapped(out, "stale: " + text + (told + more == 1 ? " means" : " mean") + " nothing in these dumps.",
                   style.width, 2, 4);
}

std::string failing_slots(const CheckReport& report, const PolicyTally& tally) {
    std::vector<int> slots;
    for (const std::size_t index : tally.failing_presets) slots.push_back(report.presets[index].check.slot);
    const bool numbered = std::none_of(slots.begin(), slots.end(), [](int slot) { return slot < 0; });
    const bool one_file = std::all_of(report.presets.begin(), report.presets.end(), [&](const PresetReport& preset) {
        return preset.file == report.presets.front().file;
    });
    if (slots.empty() || slots.size() > most_slots || !numbered || !one_file) return {};
    std::sort(slots.begin(), slots.end());
    slots.erase(std::unique(slots.begin(), slots.end()), slots.end());
    return std::string(slots.size() == 1 ? " (slot " : " (slots ") + ranges_text(slots) + ')';
}

Json lapse_json(const CheckReport& report, const Lapse& lapse) {
    const PresetReport& preset = report.presets[lapse.preset];
    Json json;
    json["file"] = report.files[preset.file].file;
    json["slot"] = preset.check.slot >= 0 ? Json(preset.check.slot) : Json();
    json["name"] = preset.check.name;
    json["release"] = report.release(preset.check.targets[lapse.target].release).name;
    add_lapse(lapse, json);
    return json;
}

Json entry_json(const CheckReport& report, std::size_t index) {
    const Acceptance& entry = report.policy.policy.accepted[index];
    const EntryRuling& ruling = report.policy.ruling.entries[index];
    Json json = acceptance_json(entry);
    json["state"] = acceptance_state(ruling.findings, !ruling.lapses.empty(), ruling.stale);
    json["findings"] = ruling.findings;
    json["lapses"] = Json::array();
    for (const Lapse& lapse : ruling.lapses) json["lapses"].push_back(lapse_json(report, lapse));
    return json;
}

}  // namespace

void rule(CheckReport& report, schema::Policy policy, std::string today) {
    std::vector<const compat::PresetCheck*> checks;
    for (const PresetReport& preset : report.presets) checks.push_back(&preset.check);
    const bool whole = report.left_out == 0 && !checks.empty();
    report.policy.ruling = compat::apply_policy(policy, *report.device, checks, today, whole,
                                                report.baseline ? &report.baseline->known : nullptr);
    report.policy.policy = std::move(policy);
    report.policy.today = std::move(today);
}

PolicyTally policy_tally(const CheckReport& report) {
    PolicyTally tally;
    for (std::size_t index = 0; index < report.presets.size(); ++index) {
        bool fails = false;
        bool undecided = is_damaged(report.presets[index]);
        std::size_t accepted = 0;
        for (const compat::TargetRuling& ruling : report.policy.ruling.presets[index]) {
            fails = fails || ruling.fails;
            undecided = undecided || ruling.undecided;
            accepted += static_cast<std::size_t>(
                std::count_if(ruling.accepted.begin(), ruling.accepted.end(), [](const auto& by) { return !!by; }));
        }
        ++(fails ? tally.failing : undecided ? tally.undecided : tally.within);
        if (fails) tally.failing_presets.push_back(index);
        tally.accepted += accepted;
        if (accepted > 0) ++tally.with_accepted;
    }
    return tally;
}

std::vector<std::string> accepted_words(const CheckReport& report, const PresetReport& preset,
                                        const compat::TargetCheck& target) {
    std::vector<std::string> words(target.findings.size());
    if (report.policy.policy.file.empty()) return words;
    const auto& targets = report.policy.ruling.presets[static_cast<std::size_t>(&preset - report.presets.data())];
    const auto& accepted = targets[static_cast<std::size_t>(&target - preset.check.targets.data())].accepted;
    for (std::size_t i = 0; i < words.size(); ++i) {
        if (!accepted[i]) continue;
        words[i] = accepted_by(report.policy.policy, *accepted[i]);
    }
    return words;
}

void append_policy(std::string& out, const CheckReport& report, const Style& style) {
    const schema::Policy& policy = report.policy.policy;
    if (policy.file.empty()) return;
    const PolicyTally tally = policy_tally(report);
    std::string text = "Policy " + printable(files::last_part(policy.file)) + ": " + std::to_string(tally.within) +
                       " of " + presets(report.presets.size()) + " within it";
    if (tally.failing > 0) text += ", " + std::to_string(tally.failing) + " not" + failing_slots(report, tally);
    if (tally.undecided > 0) text += ", " + std::to_string(tally.undecided) + " undecided";
    if (tally.accepted > 0)
        text += "; " + counted(tally.accepted, "finding", "findings") + " accepted in " + presets(tally.with_accepted);
    append_wrapped(out, text + '.', style.width, 0, 2);
    append_lapsed(out, report, style);
    append_stale(out, report, style);
}

void append_baseline(std::string& out, const CheckReport& report, const Style& style) {
    if (!report.baseline) return;
    const compat::Ruling& ruling = report.policy.ruling;
    std::string text = "Since " + printable(files::last_part(report.baseline->file)) + ": " +
                       counted(ruling.fresh, "finding is", "findings are") + " new, " + std::to_string(ruling.gone) +
                       " gone; only what is new fails.";
    const Changed changed = changed_since(report);
    std::string list;
    const auto add = [&](const std::string& what) { list += (list.empty() ? " " : ", ") + what; };
    const auto add_some = [&](const std::string& kind, const std::vector<std::string>& names) {
        for (std::size_t i = 0; i < std::min(names.size(), most_ruling_lines); ++i)
            add(kind + printable(files::last_part(names[i])));
        if (names.size() > most_ruling_lines)
            list += " and " + std::to_string(names.size() - most_ruling_lines) + " more";
    };
    add_some("dump ", changed.dumps);
    add_some("schema of ", changed.schemas);
    if (changed.policy) add("the policy");
    if (changed.program) add("the program");
    text += list.empty() ? " Presets and schemas are the same." : " Changed meanwhile:" + list + '.';
    append_wrapped(out, text, style.width, 0, 2);
}

Json baseline_json(const CheckReport& report) {
    if (!report.baseline) return {};
    const Changed changed = changed_since(report);
    return Json{{"file", report.baseline->file},
                {"sha-256", report.baseline->digest},
                {"new", report.policy.ruling.fresh},
                {"gone", report.policy.ruling.gone},
                {"changed", Json{{"dumps", changed.dumps},
                                 {"schemas", changed.schemas},
                                 {"policy", changed.policy},
                                 {"program", changed.program}}}};
}

Json policy_json(const CheckReport& report) {
    const schema::Policy& policy = report.policy.policy;
    if (policy.file.empty()) return {};
    Json json = policy_head_json(policy, report.policy.today);
    json["accepted"] = Json::array();
    for (std::size_t i = 0; i < policy.accepted.size(); ++i) json["accepted"].push_back(entry_json(report, i));
    return json;
}

}  // namespace downfit::report
