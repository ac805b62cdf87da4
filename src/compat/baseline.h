// A baseline: what an earlier report told, so that only what is new since then fails.
#pragma once

#include <cstddef>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "compat/check.h"

namespace downfit::compat {

/// For each finding of a check the kinds of caution that it carries. A caution that belongs to no finding that can be
/// heard belongs to all.
[[nodiscard]] std::vector<std::set<CautionKind>> cautions_by_finding(const TargetCheck& check);

class Baseline {
public:
    /// Adds one preset on one release as it was told: of `check` only fingerprints, parameters, weights and cautions
    /// count. `verdict` and `weight` are what the policy left of them.
    void add(const TargetCheck& check, Verdict verdict, Weight weight);

    /// Whether it was there, as heavy as now or heavier, with all of `cautions`.
    [[nodiscard]] bool knows(const Finding& finding, const std::set<CautionKind>& cautions) const;
    /// Whether the preset on that release was no better than `verdict` and `weight`.
    [[nodiscard]] bool knows(const TargetCheck& check, Verdict verdict, Weight weight) const;
    /// Findings that could be heard then, of presets and releases that were checked again, and now are not.
    [[nodiscard]] std::size_t gone(const std::vector<const PresetCheck*>& presets) const;

private:
    struct KnownFinding {
        std::string target;
        Weight weight = Weight::none;
        std::set<CautionKind> cautions;
    };
    struct KnownTarget {
        Verdict verdict = Verdict::intact;
        Weight weight = Weight::none;
    };
    std::map<std::string, KnownFinding> findings_;
    std::map<std::string, KnownTarget> targets_;
};

}  // namespace downfit::compat
