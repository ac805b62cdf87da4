#include "report/words.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "report/escape.h"
#include "report/layout.h"
#include "report/standing.h"

namespace downfit::report {

namespace {

using compat::Finding;
using compat::Outcome;

std::string value_of(const std::optional<compat::Shown>& shown) {
    if (!shown) return "nothing";
    const std::string text = brief(shown->value.empty() ? shown->stored.value_or("") : shown->value);
    return text.empty() ? "nothing" : text;
}

/// Two numbers that read alike are told apart by what is stored.
std::string change_of(const Finding& finding, const std::string& link) {
    const std::string loaded = value_of(finding.loaded);
    const std::string saved = value_of(finding.saved);
    if (loaded != saved || !finding.saved || !finding.loaded) return loaded + link + saved;
    const auto with_number = [](const std::string& value, const std::optional<std::string>& stored) {
        return value + (stored ? " (stored " + brief(*stored) + ')' : " (not stored)");
    };
    return with_number(loaded, finding.loaded->stored) + link + with_number(saved, finding.saved->stored);
}

std::string damage_reason(const PresetReport& preset) {
    if (preset.damage.empty()) return "damaged";
    return brief_problem(preset.damage.front().what);
}

/// A switched-on block is told by its own name.
std::string subject_of(const Finding& finding) {
    const bool block = finding.outcome == Outcome::woken && finding.parameter.ends_with(".on");
    return short_parameter(block ? finding.parameter.substr(0, finding.parameter.size() - 3) : finding.parameter);
}

/// How many findings are heard, of one cause or all.
std::size_t heard_with(const compat::TargetCheck& target, std::optional<std::size_t> cause) {
    return static_cast<std::size_t>(
        std::count_if(target.findings.begin(), target.findings.end(), [&](const Finding& finding) {
            return finding.weight > compat::Weight::none && (!cause || finding.cause == cause);
        }));
}

}  // namespace

std::string short_parameter(const std::string& id) {
    const std::size_t first = id.find('.');
    const std::size_t last = id.rfind('.');
    if (first == std::string::npos) return brief(id);
    return brief(id.substr(0, first) + ' ' + id.substr(last + 1));
}

std::string quoted_name(const std::string& name) {
    return name.empty() ? "(no name)" : '"' + brief(name) + '"';
}

std::string slot_label(const PresetReport& preset) {
    return preset.check.slot >= 0 ? std::to_string(preset.check.slot) : '#' + std::to_string(preset.check.entry + 1);
}

std::string slot_words(const PresetReport& preset) {
    return preset.check.slot >= 0 ? "slot " + slot_label(preset) : "entry " + slot_label(preset);
}

std::string fate(const Finding& finding) {
    switch (finding.outcome) {
        case Outcome::kept: return "arrives as " + value_of(finding.saved);
        case Outcome::rounded: return "lands on " + change_of(finding, ", the nearest step to ");
        case Outcome::clamped: return "is held at " + change_of(finding, " instead of ");
        case Outcome::reset: return "falls back to " + change_of(finding, " instead of ");
        case Outcome::lost: return value_of(finding.saved) + " has nowhere to go";
        case Outcome::swapped: return "comes up as " + change_of(finding, " instead of ");
        case Outcome::rescaled: return "plays " + change_of(finding, " instead of ");
        case Outcome::displaced:
            return finding.saved ? "is read from the wrong place: " + change_of(finding, " instead of ")
                                 : "is read from bytes that mean something else: " + value_of(finding.loaded);
        case Outcome::woken: return "comes up switched on";
        case Outcome::out_of_range: return "stays at " + value_of(finding.loaded) + ", beyond what the engine plays";
        case Outcome::unfilled: return "points at " + value_of(finding.loaded) + ", which is empty there";
        case Outcome::revoiced: return value_of(finding.saved) + " sounds different there";
        case Outcome::cut: return "is shortened to \"" + value_of(finding.loaded) + '"';
        case Outcome::added: return "is new there, at " + value_of(finding.loaded);
        case Outcome::unsure: break;
    }
    return "cannot be decided: " + std::string(compat::weight_name(finding.best)) + " at best, " +
           std::string(compat::weight_name(finding.weight)) + " at worst";
}

std::string short_fate(const Finding& finding) {
    const std::string saved = value_of(finding.saved);
    const std::string loaded = value_of(finding.loaded);
    switch (finding.outcome) {
        case Outcome::lost: return saved + " lost";
        case Outcome::displaced: return "read from the wrong place: " + loaded;
        case Outcome::woken: return "switched on";
        case Outcome::out_of_range: return loaded + " is beyond what plays";
        case Outcome::unfilled: return loaded + " is empty";
        case Outcome::revoiced: return saved + " sounds different";
        case Outcome::cut: return "cut to \"" + loaded + '"';
        case Outcome::added: return "new: " + loaded;
        case Outcome::unsure: return "unsure";
        case Outcome::kept:
        case Outcome::rounded:
        case Outcome::clamped:
        case Outcome::reset:
        case Outcome::swapped:
        case Outcome::rescaled: break;
    }
    return saved + " -> " + loaded;
}

std::string cause_words(const compat::Cause& cause, const std::string& release) {
    const std::string what = brief(cause.what);
    switch (cause.kind) {
        case compat::Cause::Kind::group_missing: return brief(release) + " has no " + what;
        case compat::Cause::Kind::group_new: return what + " is new on " + brief(release);
        case compat::Cause::Kind::parameter: break;
    }
    return "follows from " + what;
}

std::string main_reason(const PresetReport& preset, const compat::TargetCheck& target, bool in_short) {
    if (preset.check.state == dump::SlotState::damaged) return damage_reason(preset);
    const Finding* main = main_finding(target);
    if (target.verdict == compat::Verdict::refused) return brief(target.reason);
    if (target.verdict == compat::Verdict::undecided && main == nullptr) return brief(target.reason);
    if (main == nullptr) return {};
    std::size_t told = 1;
    std::string text = subject_of(*main) + ' ' + (in_short ? short_fate(*main) : fate(*main));
    if (main->cause && target.causes[*main->cause].kind == compat::Cause::Kind::group_missing) {
        text = "there is no " + brief(target.causes[*main->cause].what);
        told = heard_with(target, main->cause);
    }
    const std::size_t heard = heard_with(target, std::nullopt);
    if (heard > told)
        text += in_short ? " +" + std::to_string(heard - told)
                         : ", and " + counted(heard - told, "other change", "other changes");
    return text;
}

std::string caution_words(const compat::Caution& caution) {
    switch (caution.kind) {
        case compat::CautionKind::louder:
            if (!std::isfinite(caution.rise_db)) return "louder, up from silence";
            return number_text(std::round(caution.rise_db * 10) / 10) + " dB louder";
        case compat::CautionKind::feedback: return "feedback reaches unity";
        case compat::CautionKind::level_unknown: break;
    }
    return "level unknown";
}

std::string right_from(const compat::TargetCheck& target) {
    const Finding* main = main_finding(target);
    return main == nullptr ? std::string() : brief(main->brought_by);
}

std::string saved_words(const CheckReport& report, const compat::PresetCheck& preset) {
    if (preset.saved_on.empty()) {
        return preset.stamp.empty() ? "without a stamp"
                                    : "saved on an unknown release (stamp " + brief(preset.stamp) + ')';
    }
    std::string text = "saved on ";
    for (std::size_t i = 0; i < preset.saved_on.size(); ++i) {
        if (i > 0) text += " or ";
        text += brief(report.release(preset.saved_on[i]).name);
    }
    return text;
}

}  // namespace downfit::report
