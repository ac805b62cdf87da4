#include "report/closing.h"

#include <algorithm>
#include <array>
#include <set>
#include <tuple>

#include "files/input.h"
#include "report/escape.h"
#include "report/installing.h"
#include "report/layout.h"
#include "report/problems.h"

namespace downfit::report {

namespace {

constexpr std::string_view cautions_note =
    "Before you change firmware: the maker's own instructions come first. Back up everything now, in two places. Read "
    "the "
    "release notes and know the recovery procedure. Send the firmware file itself, not the zip it came in, and never "
    "cut power "
    "while the unit writes; when it says that it is done, switch it off, wait five seconds, switch it on. Then "
    "firmware first, "
    "unit settings, impulse responses, presets. Monitors down before the first note.";

void append_note(std::string& out, const std::string& text, const Style& style) {
    append_wrapped(out, "- " + text, style.width, 0, 2);
}

void append_rules(std::string& out, const CheckReport& report, const Style& style) {
    const std::vector<UnsettledRule> rules = unsettled_rules(report);
    if (rules.empty()) return;
    std::string text = "No schema file states these loading rules; stating them would settle:";
    for (const UnsettledRule& rule : rules) {
        text += rule.rule == rules.front().rule ? " " : ", ";
        text += std::string(schema::row_of(rule.rule).name) + " (" + presets(rule.presets) + ')';
    }
    append_note(out, text + '.', style);
}

void append_inputs(std::string& out, const CheckReport& report, const Style& style) {
    for (const InputFile& file : report.files) {
        const bool presets = std::find(file.holds.begin(), file.holds.end(), "presets") != file.holds.end();
        std::string other;
        for (const std::string& kind : file.holds) {
            if (kind == "presets") continue;
            if (!other.empty()) other += ", ";
            other += kind == "unit-settings" ? "unit settings" : brief(kind);
        }
        if (!other.empty())
            append_note(out,
                        printable(file.file) + (presets ? " also holds: " : " holds no presets but: ") + other + '.',
                        style);
        for (const Problem& problem : file.problems)
            append_note(out, printable(file.file) + ", " + problem_line(problem) + '.', style);
    }
}

/// Facts of the unit that nobody said, and what was told instead.
void append_unknown_facts(std::string& out, const CheckReport& report, const Style& style) {
    std::set<std::string> told;
    for (const PresetReport& preset : report.presets) {
        for (const compat::TargetCheck& target : preset.check.targets) {
            if (!target.told_for.empty()) told.insert(target.told_for);
        }
    }
    if (told.empty()) return;
    std::string list;
    for (const std::string& facts : told) list += (list.empty() ? "" : "; ") + brief(facts);
    append_note(out,
                "What the unit is was not said: the worst is told (" + list + "). --variant NAME says which it is.",
                style);
}

/// One line, of the release whose presets have most of them that differ; `downfit schema coverage` has the rest.
void append_unexplained(std::string& out, const CheckReport& report, const Style& style) {
    if (report.unexplained.empty()) return;
    const auto less = [](const Unexplained& a, const Unexplained& b) {
        return std::tie(a.varying, a.partly_varying, a.bytes) < std::tie(b.varying, b.partly_varying, b.bytes);
    };
    const Unexplained& most = *std::max_element(report.unexplained.begin(), report.unexplained.end(), less);
    if (most.bytes == 0 && most.partly_varying == 0) {
        append_note(out, most.values ? "Unexplained values: none." : "Unexplained bytes: none.", style);
        return;
    }
    std::string text = most.values ? "Unexplained values, not checked: " : "Unexplained bytes, not checked: ";
    text += std::to_string(most.bytes) + " of " + std::to_string(most.places) + " on " + printable(most.release);
    if (most.presets == 1) {
        text += ", one preset";
    } else {
        const std::string number = most.varying == 0 ? "none" : std::to_string(most.varying);
        text += ", " + number + (most.varying < 2 ? " varies" : " vary");
        if (most.partly_varying > 0) text += ", and bits of " + std::to_string(most.partly_varying) + " more";
    }
    append_note(out, text + " (schema coverage).", style);
}

void append_unseen(std::string& out, const CheckReport& report, const Style& style) {
    append_unknown_facts(out, report, style);
    for (const Leaning& leaning : report.leaning) {
        if (leaning.asset == "unit-settings") {
            append_note(
                out,
                "Settings of the unit itself bear on every preset; no dump of them was given, so they are taken to be "
                "the same on both releases.",
                style);
            continue;
        }
        append_note(out,
                    presets(leaning.presets) + (leaning.presets == 1 ? " points" : " point") + " at a slot of kind \"" +
                        brief(leaning.title.empty() ? leaning.asset : leaning.title) +
                        "\"; no dump of these was given, so whether the slots are filled was not looked at.",
                    style);
    }
    append_unexplained(out, report, style);
}

/// The schema files that results rest on, in short; the JSON report has the digests whole.
void append_schemas(std::string& out, const CheckReport& report, const Style& style) {
    const auto add = [](const std::string& file, const std::string& digest) {
        return ' ' + brief(files::last_part(file)) + ' ' + digest.substr(0, 12);
    };
    std::string text = add(report.device->file, report.device->digest);
    for (const schema::ReleaseEntry& release : report.device->releases) {
        if (release.schema) text += ',' + add(release.schema->file, release.schema->digest);
    }
    if (!report.policy.policy.file.empty())
        text += "; policy" + add(report.policy.policy.file, report.policy.policy.digest);
    append_note(out, "downfit " + brief(report.version) + " with schema files (first digits of SHA-256):" + text + '.',
                style);
}

}  // namespace

std::vector<UnsettledRule> unsettled_rules(const CheckReport& report) {
    std::array<std::size_t, schema::rule_count> counts{};
    for (const PresetReport& preset : report.presets) {
        std::set<schema::Rule> rules;
        for (const compat::TargetCheck& target : preset.check.targets)
            rules.insert(target.unsettled.begin(), target.unsettled.end());
        for (const schema::Rule rule : rules) ++counts[static_cast<std::size_t>(rule)];
    }
    std::vector<UnsettledRule> rules;
    for (const schema::RuleRow& row : schema::rule_table) {
        const std::size_t count = counts[static_cast<std::size_t>(row.rule)];
        if (count > 0) rules.push_back({row.rule, count});
    }
    std::stable_sort(rules.begin(), rules.end(),
                     [](const UnsettledRule& a, const UnsettledRule& b) { return a.presets > b.presets; });
    return rules;
}

std::string_view promise() {
    return "Intact promises that the settings arrive. It never promises that two releases sound alike.";
}

std::string_view usual_cautions() {
    return cautions_note;
}

void append_promise(std::string& out, const Style& style) {
    append_wrapped(out, std::string(promise()) + " Back up first; the maker's instructions rule.", style.width, 0, 2);
}

void append_closing(std::string& out, const CheckReport& report, const Style& style) {
    out += '\n';
    append_rules(out, report, style);
    append_inputs(out, report, style);
    append_unseen(out, report, style);
    append_erased(out, report, style);
    append_note(out, std::string(promise()), style);
    append_note(out, std::string(cautions_note), style);
    append_schemas(out, report, style);
}

}  // namespace downfit::report
