// Applying a policy: which findings somebody accepted, what is left of each verdict, and what of the policy no longer
// fits. A pure function of results, policy and date.
//
// A policy takes findings out of a verdict and nothing else: results stay as they are, cautions among them. A refused
// preset fails whatever it says, and one that could not be read stays undecided.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "compat/baseline.h"
#include "compat/check.h"
#include "schema/policy.h"

namespace downfit::compat {

/// The just-noticeable differences of a policy: the defaults where it says nothing.
[[nodiscard]] Hearing hearing_of(const schema::Tolerances& tolerances);

/// One preset on one target, seen through the policy.
struct TargetRuling {
    /// For each finding of the check what accepts it, as an index into Policy::accepted.
    std::vector<std::optional<std::size_t>> accepted;
    std::vector<bool> known;  ///< for each finding whether it is in the baseline, at least as heavy; empty without one
    Verdict verdict = Verdict::undecided;  ///< without what is accepted, over all that the preset may be
    Weight weight = Weight::none;          ///< the heaviest that is left
    bool fails = false;                    ///< not within the policy; never for what is undecided
    bool undecided = false;                ///< the verdict is, and (with a baseline) was not so before
};

/// A finding that an acceptance means but does not cover.
struct Lapse {
    enum class Why : std::uint8_t {
        date,     ///< the acceptance has ended
        heavier,  ///< it weighs more than was accepted
        caution,  ///< it carries a caution that was not accepted
    };
    std::size_t preset = 0;  ///< index into the presets given
    std::size_t target = 0;  ///< index into PresetCheck::targets
    std::string parameter;   ///< the finding's
    Weight weight = Weight::none;
    Why why = Why::date;
    std::optional<CautionKind> caution;  ///< of Why::caution
};

/// What became of one acceptance.
struct EntryRuling {
    std::size_t findings = 0;   ///< that it accepts
    std::vector<Lapse> lapses;  ///< in the order of presets, targets and findings
    bool stale = false;         ///< it means no finding that can be heard

    /// Its date is past, whatever it means.
    bool ended = false;
};

struct Ruling {
    std::vector<std::vector<TargetRuling>> presets;  ///< by preset and target, as given
    std::vector<EntryRuling> entries;                ///< one for each of Policy::accepted
    std::size_t fresh = 0, gone = 0;  ///< findings to be heard that are not, or were only, in the baseline
};

/// Applies `policy` to presets checked for `device`, with CheckOptions::others. `today` (YYYY-MM-DD) decides which
/// acceptances have ended. Acceptances that mean nothing are stale only if `whole` says that no preset was left out.
/// Names of releases in the policy must have been checked (schema::check_policy). With a `baseline` only what it does
/// not have fails or is undecided: verdicts and weights stay what the policy leaves of them.
[[nodiscard]] Ruling apply_policy(const schema::Policy& policy, const schema::Device& device,
                                  const std::vector<const PresetCheck*>& presets, const std::string& today, bool whole,
                                  const Baseline* baseline = nullptr);

/// The word of policy files and reports for it: "louder", "feedback", "level-unknown".
[[nodiscard]] std::string_view caution_key(CautionKind kind);

}  // namespace downfit::compat
