#include "report/detail.h"

#include <algorithm>

#include "report/escape.h"
#include "report/layout.h"
#include "report/problems.h"
#include "report/ruling.h"
#include "report/standing.h"
#include "report/table.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using compat::Finding;
using compat::TargetCheck;
using compat::Weight;

constexpr std::size_t weight_column = 9;

std::string stored_text(const Finding& finding) {
    const auto stored = [](const std::optional<compat::Shown>& side) {
        return side && side->stored ? std::optional(brief(*side->stored)) : std::nullopt;
    };
    const std::optional<std::string> saved = stored(finding.saved);
    const std::optional<std::string> loaded = stored(finding.loaded);
    if (saved && loaded) {
        if (*saved == *loaded) return "stored " + *saved + " on both";
        return "stored " + *saved + ", there " + *loaded;
    }
    if (saved) return "stored " + *saved;
    if (loaded) return "there stored as " + *loaded;
    return "not stored";
}

std::string place_of(const Finding& finding) {
    const bool by_name = !finding.saved_path.empty() || !finding.loaded_path.empty();
    if (by_name) {
        const bool saved = !finding.saved_path.empty();
        std::string text = printable(saved ? finding.saved_path : finding.loaded_path) + " in line " +
                           std::to_string(saved ? finding.saved_line : finding.loaded_line) + " of the file";
        if (saved && !finding.loaded_path.empty() && finding.loaded_path != finding.saved_path) {
            text += ", read there from " + printable(finding.loaded_path);
        }
        return text;
    }
    const auto& offset = finding.saved_offset ? finding.saved_offset : finding.loaded_offset;
    std::string text = offset ? byte_text(*offset) + " of the file" : std::string();
    if (finding.saved_offset && finding.loaded_offset && finding.saved_offset != finding.loaded_offset) {
        text += ", read there from " + byte_text(*finding.loaded_offset);
    }
    return text;
}

std::string activity_words(compat::Activity activity) {
    const std::string name(compat::activity_name(activity));
    if (activity == compat::Activity::standby) return name + " (switched off: slight at most)";
    if (activity == compat::Activity::assigned) return name + " (switched off, but the preset can bring it in)";
    return name;
}

/// Outcome, silent or not, rule, stored numbers, place, activity, what brought it.
std::string facts_of(const Finding& finding) {
    const compat::OutcomeRow& row = compat::row_of(finding.outcome);
    std::string text(row.name);
    if (row.silent) text += " (silent)";
    const auto add = [&](const std::string& part) {
        if (!part.empty()) text += "; " + part;
    };
    add(brief(finding.rule));
    add(stored_text(finding));
    add(place_of(finding));
    add(brief(finding.saved_overflow));
    add(activity_words(finding.activity));
    if (!finding.parameter_there.empty()) add("called " + brief(finding.parameter_there) + " there");
    if (finding.observed) add("its range is only observed");
    if (!finding.brought_by.empty()) add("right from " + brief(finding.brought_by));
    return text;
}

/// `accepted` says by what the finding is accepted, empty if it is not.
void append_finding(std::string& out, const Finding& finding, const std::string& accepted, std::size_t indent,
                    const Style& style) {
    const std::string word(compat::weight_name(finding.weight));
    const std::size_t hang = indent + weight_column;
    std::string lines;
    append_wrapped(lines, brief(finding.parameter) + ' ' + fate(finding), style.width, hang, hang);
    out += std::string(indent, ' ') + paint(word, tone_of(finding.weight), style) +
           std::string(weight_column - word.size(), ' ');
    out += lines.substr(hang);
    append_wrapped(out, facts_of(finding), style.width, hang, hang + 2);
    for (const compat::Alternative& other : finding.alternatives) {
        const std::string assumed = other.assumption.empty() ? "as stated" : brief(other.assumption);
        append_wrapped(out,
                       "if " + assumed + ": " + std::string(compat::row_of(other.outcome).name) + ", " +
                           std::string(compat::weight_name(other.weight)),
                       style.width, hang + 2, hang + 4);
    }
    if (!accepted.empty()) append_wrapped(out, "accepted by " + accepted, style.width, hang, hang + 2);
}

/// The findings of one cause below one line that names it.
void append_cause(std::string& out, const TargetCheck& target, const std::vector<std::size_t>& members,
                  const std::vector<std::string>& accepted, const CheckReport& report, const Style& style) {
    const compat::Cause& cause = target.causes[*target.findings[members.front()].cause];
    std::string text = cause_words(cause, report.release(target.release).name);
    text += cause.kind == compat::Cause::Kind::group_new ? ", with " : ": takes along ";
    if (cause.kind == compat::Cause::Kind::parameter) text = brief(cause.what) + ", and with it ";
    text += counted(cause.findings, "parameter", "parameters") + " (" + std::string(compat::weight_name(cause.weight)) +
            " at worst)";
    append_wrapped(out, text, style.width, 4, 6);
    for (const std::size_t member : members) append_finding(out, target.findings[member], accepted[member], 6, style);
}

/// What is lost, added, ... alike in one outermost group.
struct Harmless {
    std::string group, outcome;
    std::vector<std::string> names;  ///< of the parameters, the group's left out
};

/// "2 settings of echo lost (tone, ducking), tempo added": by outermost group and outcome, in the order in which they
/// come; names only where they are few.
std::string harmless_text(const TargetCheck& target, const std::vector<std::size_t>& harmless) {
    constexpr std::size_t few = 3;
    std::vector<Harmless> groups;
    for (const std::size_t i : harmless) {
        const Finding& finding = target.findings[i];
        const std::size_t end = std::min(finding.parameter.find('.'), finding.parameter.size());
        const bool grouped = end < finding.parameter.size();
        Harmless one{finding.parameter.substr(0, grouped ? end : 0),
                     std::string(compat::row_of(finding.outcome).name),
                     {brief(finding.parameter.substr(grouped ? end + 1 : 0))}};
        const auto known = std::find_if(groups.begin(), groups.end(), [&](const Harmless& other) {
            return grouped && other.group == one.group && other.outcome == one.outcome;
        });
        if (known == groups.end()) {
            groups.push_back(std::move(one));
        } else {
            known->names.push_back(std::move(one.names.front()));
        }
    }
    std::string text;
    for (const Harmless& one : groups) {
        text += text.empty() ? " " : ", ";
        if (one.group.empty()) {
            text += one.names.front() + ' ' + one.outcome;
            continue;
        }
        text += counted(one.names.size(), "setting", "settings") + " of " + printable(one.group) + ' ' + one.outcome;
        if (one.names.size() > few) continue;
        std::string names;
        for (const std::string& name : one.names) names += (names.empty() ? "" : ", ") + name;
        text += " (" + names + ')';
    }
    return text;
}

void append_harmless(std::string& out, const TargetCheck& target, const std::vector<std::size_t>& order,
                     const Style& style) {
    std::vector<std::size_t> harmless;
    for (const std::size_t i : order) {
        if (target.findings[i].weight == Weight::none) harmless.push_back(i);
    }
    if (harmless.empty()) return;
    std::sort(harmless.begin(), harmless.end());
    append_wrapped(out, "without a difference to hear:" + harmless_text(target, harmless), style.width, 4, 6);
}

void append_findings(std::string& out, const TargetCheck& target, const std::vector<std::string>& accepted,
                     const CheckReport& report, const Style& style) {
    const std::vector<std::size_t> order = finding_order(target);
    std::vector<bool> told(target.causes.size(), false);
    for (const std::size_t i : order) {
        const Finding& finding = target.findings[i];
        if (finding.weight == Weight::none) break;
        if (!finding.cause) {
            append_finding(out, finding, accepted[i], 4, style);
            continue;
        }
        if (told[*finding.cause]) continue;
        told[*finding.cause] = true;
        std::vector<std::size_t> members;
        for (const std::size_t other : order) {
            const Finding& member = target.findings[other];
            if (member.cause == finding.cause && member.weight != Weight::none) members.push_back(other);
        }
        append_cause(out, target, members, accepted, report, style);
    }
    append_harmless(out, target, order, style);
}

std::string target_heading(const CheckReport& report, const compat::PresetCheck& preset, const TargetCheck& target) {
    const Standing standing = standing_of(preset, target);
    std::string text = "on " + brief(report.release(target.release).name) + ": ";
    text += compat::verdict_name(target.verdict);
    if (target.verdict == compat::Verdict::altered) text += ", " + std::string(standing_word(standing));
    if (target.verdict == compat::Verdict::undecided && target.best != target.worst) {
        text += " (" + std::string(compat::verdict_name(target.best)) + " at best, " +
                std::string(compat::verdict_name(target.worst)) + " at worst)";
    }
    if (!target.reason.empty()) text += ": " + brief(target.reason);
    if (target.parameters == 0) return text;
    const auto none =
        static_cast<std::size_t>(std::count_if(target.findings.begin(), target.findings.end(),
                                               [](const Finding& finding) { return finding.weight == Weight::none; }));
    const std::size_t heard = target.findings.size() - none;
    const std::string all = counted(target.parameters, "parameter", "parameters");
    if (heard == 0) {
        text += "; all " + all + " as saved";
        if (none > 0) text += ", but for " + std::to_string(none) + " without a difference to hear";
    } else {
        text += "; " + std::to_string(heard) + " of " + all + " not as saved";
        if (none > 0) text += ", and " + std::to_string(none) + " without a difference to hear";
    }
    if (target.observed > 0) text += "; rests on " + std::to_string(target.observed) + " that are only observed";
    return text;
}

void append_target(std::string& out, const CheckReport& report, const PresetReport& preset, const TargetCheck& target,
                   const Style& style) {
    const Tone tone = standing_of(preset.check, target) >= Standing::near ? Tone::good : Tone::bad;
    std::string lines;
    append_wrapped(lines, target_heading(report, preset.check, target), style.width, 2, 4);
    lines.pop_back();
    out += paint(lines, tone, style) + '\n';
    for (const compat::Caution& caution : target.cautions) {
        const std::string words = "! monitors down: " + brief(caution.parameter) + ' ' + caution_words(caution);
        out += "    " + paint(words, Tone::caution, style) + '\n';
    }
    append_findings(out, target, accepted_words(report, preset, target), report, style);
    for (const compat::Doubt& doubt : target.doubts) {
        append_wrapped(out,
                       "doubt: " + brief(doubt.parameter) + " stored " + brief(doubt.stored) + ": " + brief(doubt.why),
                       style.width, 4, 6);
    }
    for (const std::string& risk : target.risks) {
        append_wrapped(out, "risk: " + brief(risk), style.width, 4, 6);
    }
    if (!target.told_for.empty()) {
        append_wrapped(out, "told for the worst unit that it may be: " + brief(target.told_for), style.width, 4, 6);
    }
    for (const std::string& repair : target.repairs) {
        append_wrapped(out, "repaired by the release while loading: " + brief(repair), style.width, 4, 6);
    }
}

}  // namespace

void append_details(std::string& out, const CheckReport& report, const Style& style) {
    for (const std::size_t index : preset_order(report)) {
        const PresetReport& preset = report.presets[index];
        std::string heading =
            slot_words(preset) + ' ' + quoted_name(preset.check.name) + ", " + saved_words(report, preset.check);
        heading.front() = static_cast<char>(heading.front() - 'a' + 'A');
        if (report.files.size() > 1) heading += ", in " + printable(report.files[preset.file].file);
        out += '\n' + paint(heading, Tone::strong, style) + '\n';
        for (const Problem& problem : preset.damage)
            append_wrapped(out, "damaged: " + problem_line(problem), style.width, 2, 4);
        if (preset.check.state == dump::SlotState::damaged) continue;
        for (const TargetCheck& target : preset.check.targets) append_target(out, report, preset, target, style);
    }
}

}  // namespace downfit::report
