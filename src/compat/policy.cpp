#include "compat/policy.h"

#include <algorithm>
#include <set>

#include "compat/heaviest.h"
#include "schema/ids.h"

namespace downfit::compat {
namespace {

using schema::Acceptance;
using schema::FailsFrom;

/// Whether an acceptance's id means an instance: its steps without brackets mean any.
bool means_parameter(const std::vector<schema::IdStep>& asked, const std::string& id) {
    const auto steps = schema::parse_id(id);
    return steps && std::equal(asked.begin(), asked.end(), steps->begin(), steps->end(),
                               [](const schema::IdStep& ask, const schema::IdStep& step) {
                                   return ask.name == step.name && (ask.index == 0 || ask.index == step.index);
                               });
}

/// What is left of one check.
struct Left {
    Weight best = Weight::none, worst = Weight::none;
    Verdict verdict = Verdict::undecided;
};

class Court {
public:
    Court(const schema::Policy& policy, const schema::Device& device, const std::string& today,
          const Baseline* baseline)
        : policy_(policy), device_(device), baseline_(baseline) {
        ruling_.entries.resize(policy.accepted.size());
        for (std::size_t i = 0; i < policy.accepted.size(); ++i) {
            const Acceptance& entry = policy.accepted[i];
            ruling_.entries[i].ended = !entry.until.empty() && entry.until < today;
            ids_.push_back(schema::parse_id(entry.parameter).value_or(std::vector<schema::IdStep>{}));
        }
    }

    void judge(std::size_t index, const PresetCheck& preset) {
        std::vector<TargetRuling>& targets = ruling_.presets.emplace_back();
        for (std::size_t target = 0; target < preset.targets.size(); ++target) {
            const TargetCheck& check = preset.targets[target];
            const Place place{index, target, preset};
            TargetRuling one;
            one.accepted = accept(place, check);
            Left left = what_is_left(check, one.accepted);
            one.fails = fails(check.release, left);
            one.undecided = left.verdict == Verdict::undecided;
            if (baseline_ != nullptr) look_up(check, left, one);
            // What it may be instead is accepted apart: until it is, the worst of what is left stands.
            for (const TargetCheck& other : check.others) {
                const Left also = what_is_left(other, accept(place, other));
                const bool known = baseline_ != nullptr && baseline_->knows(check, also.verdict, also.worst);
                one.fails = one.fails || (!known && fails(check.release, also));
                one.undecided = one.undecided || (!known && also.verdict == Verdict::undecided);
                left.verdict = std::max(left.verdict, also.verdict);
                left.worst = std::max(left.worst, also.worst);
            }
            one.verdict = left.verdict;
            one.weight = left.worst;
            targets.push_back(std::move(one));
        }
    }

    Ruling finish(bool whole) {
        for (EntryRuling& entry : ruling_.entries) entry.stale = whole && entry.findings == 0 && entry.lapses.empty();
        return std::move(ruling_);
    }

private:
    struct Place {
        std::size_t preset, target;
        const PresetCheck& check;
    };

    /// What of a check the baseline has, and what fails or is undecided without that.
    void look_up(const TargetCheck& check, const Left& left, TargetRuling& one) {
        const auto cautions = cautions_by_finding(check);
        std::vector<std::optional<std::size_t>> excused = one.accepted;
        for (std::size_t i = 0; i < check.findings.size(); ++i) {
            const bool known = baseline_->knows(check.findings[i], cautions[i]);
            one.known.push_back(known);
            if (known) excused[i] = excused[i].value_or(0);
            if (!known && check.findings[i].weight != Weight::none) ++ruling_.fresh;
        }
        const Left fresh = what_is_left(check, excused);
        // What will not load, or cannot be decided, is known as such or not at all.
        const bool known = baseline_->knows(check, left.verdict, left.worst);
        one.fails = fails(check.release, fresh) && !(fresh.verdict == Verdict::refused && known);
        one.undecided = fresh.verdict == Verdict::undecided && !(known && fresh.worst == Weight::none);
    }

    [[nodiscard]] bool means(std::size_t entry, const PresetCheck& preset, const TargetCheck& check,
                             const Finding& finding) const {
        const Acceptance& asked = policy_.accepted[entry];
        const std::string& release = device_.releases[check.release].name;
        const bool here = asked.on.empty() || std::any_of(asked.on.begin(), asked.on.end(),
                                                          [&](const auto& on) { return on.name == release; });
        if (!here) return false;
        if (!asked.fingerprint.empty()) return asked.fingerprint == finding.fingerprint;
        if (!asked.preset.empty() && asked.preset != preset.name) return false;
        if (asked.slot && *asked.slot != preset.slot) return false;
        if (!asked.outcome.empty() && asked.outcome != row_of(finding.outcome).name) return false;
        return asked.parameter.empty() || means_parameter(ids_[entry], finding.parameter) ||
               means_parameter(ids_[entry], finding.parameter_there);
    }

    /// For each finding of a check what accepts it.
    std::vector<std::optional<std::size_t>> accept(const Place& place, const TargetCheck& check) {
        std::vector<std::optional<std::size_t>> accepted(check.findings.size());
        const auto cautions = cautions_by_finding(check);
        for (std::size_t entry = 0; entry < policy_.accepted.size(); ++entry) {
            std::vector<std::size_t> meant;
            for (std::size_t i = 0; i < check.findings.size(); ++i) {
                const Finding& finding = check.findings[i];
                if (finding.weight != Weight::none && means(entry, place.check, check, finding)) meant.push_back(i);
            }
            std::vector<std::size_t> good;
            for (const std::size_t i : meant) {
                const Finding& finding = check.findings[i];
                const std::optional<Lapse> lapse = lapse_of(entry, finding, cautions[i], place);
                if (!lapse) {
                    good.push_back(i);
                } else {
                    add_lapse(ruling_.entries[entry], *lapse);
                }
            }
            // A whole preset was accepted as it was: one thing worse in it, and it is another preset.
            const Acceptance& asked = policy_.accepted[entry];
            const bool whole_preset = asked.fingerprint.empty() && asked.parameter.empty();
            if (whole_preset && good.size() < meant.size()) continue;
            ruling_.entries[entry].findings += good.size();
            for (const std::size_t i : good) {
                if (!accepted[i]) accepted[i] = entry;
            }
        }
        return accepted;
    }

    [[nodiscard]] std::optional<Lapse> lapse_of(std::size_t entry, const Finding& finding,
                                                const std::set<CautionKind>& cautions, const Place& place) const {
        const Acceptance& asked = policy_.accepted[entry];
        Lapse lapse{place.preset, place.target, finding.parameter, finding.weight, Lapse::Why::date, std::nullopt};
        if (ruling_.entries[entry].ended) return lapse;
        lapse.why = Lapse::Why::heavier;
        if (finding.weight > find_weight(asked.weight).value_or(Weight::none)) return lapse;
        lapse.why = Lapse::Why::caution;
        const auto unknown = std::find_if(cautions.begin(), cautions.end(), [&](CautionKind kind) {
            return std::find(asked.cautions.begin(), asked.cautions.end(), caution_key(kind)) == asked.cautions.end();
        });
        if (unknown == cautions.end()) return std::nullopt;
        lapse.caution = *unknown;
        return lapse;
    }

    /// Once for each parameter of a preset on a target, whatever else the preset may be.
    static void add_lapse(EntryRuling& entry, const Lapse& lapse) {
        const bool known = std::any_of(entry.lapses.rbegin(), entry.lapses.rend(), [&](const Lapse& other) {
            return other.preset == lapse.preset && other.target == lapse.target && other.parameter == lapse.parameter;
        });
        if (!known) entry.lapses.push_back(lapse);
    }

    static Left what_is_left(const TargetCheck& check, const std::vector<std::optional<std::size_t>>& accepted) {
        Left left;
        for (std::size_t i = 0; i < check.findings.size(); ++i) {
            if (accepted[i]) continue;
            left.best = std::max(left.best, check.findings[i].best);
            left.worst = std::max(left.worst, check.findings[i].weight);
        }
        left.verdict = check.verdict;
        if (check.verdict == Verdict::refused) return left;
        if (check.verdict != Verdict::undecided) {
            left.verdict = verdict_of(left.worst);
            return left;
        }
        // Accepting findings decides only what findings left undecided.
        if (check.worst < Verdict::undecided && check.all_tried && verdict_of(left.best) == verdict_of(left.worst))
            left.verdict = verdict_of(left.worst);
        return left;
    }

    [[nodiscard]] FailsFrom threshold(std::size_t release) const {
        for (const schema::ReleasePolicy& one : policy_.releases) {
            if (one.release.name == device_.releases[release].name) return one.fails;
        }
        return policy_.fails;
    }

    [[nodiscard]] bool fails(std::size_t release, const Left& left) const {
        if (left.verdict == Verdict::refused) return true;
        if (left.verdict == Verdict::undecided) return false;
        switch (threshold(release)) {
            case FailsFrom::near: return left.worst >= Weight::slight;
            case FailsFrom::altered: return left.worst >= Weight::audible;
            case FailsFrom::severe: return left.worst >= Weight::severe;
            case FailsFrom::refused: break;
        }
        return false;
    }

    const schema::Policy& policy_;
    const schema::Device& device_;
    const Baseline* baseline_;
    std::vector<std::vector<schema::IdStep>> ids_;  // of each acceptance's parameter
    Ruling ruling_;
};

}  // namespace

Hearing hearing_of(const schema::Tolerances& tolerances) {
    Hearing hearing;
    const auto take = [](const std::optional<double>& written, double scale, double& into) {
        if (written) into = *written * scale;
    };
    take(tolerances.level, 1, hearing.level_db);
    take(tolerances.pitch, 1, hearing.pitch_cents);
    take(tolerances.frequency, 1, hearing.frequency_cents);
    take(tolerances.q, 0.01, hearing.q_share);
    take(tolerances.time, 0.001, hearing.time_floor_s);
    take(tolerances.long_time_from, 0.001, hearing.time_knee_s);
    take(tolerances.long_time, 0.01, hearing.time_share);
    take(tolerances.decay, 0.01, hearing.decay_share);
    take(tolerances.rate, 0.01, hearing.rate_share);
    take(tolerances.range, 0.01, hearing.range_share);
    take(tolerances.slight_up_to, 1, hearing.slight_up_to);
    take(tolerances.louder, 1, hearing.louder_db);
    return hearing;
}

Ruling apply_policy(const schema::Policy& policy, const schema::Device& device,
                    const std::vector<const PresetCheck*>& presets, const std::string& today, bool whole,
                    const Baseline* baseline) {
    Court court(policy, device, today, baseline);
    for (std::size_t i = 0; i < presets.size(); ++i) court.judge(i, *presets[i]);
    Ruling ruling = court.finish(whole);
    if (baseline != nullptr) ruling.gone = baseline->gone(presets);
    return ruling;
}

std::string_view caution_key(CautionKind kind) {
    switch (kind) {
        case CautionKind::louder: return "louder";
        case CautionKind::feedback: return "feedback";
        case CautionKind::level_unknown: break;
    }
    return "level-unknown";
}

}  // namespace downfit::compat
