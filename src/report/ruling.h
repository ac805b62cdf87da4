// What a policy makes of a report: the ruling put in, and told in a few lines of text and as JSON.
#pragma once

#include <string>
#include <vector>

#include "report/check_report.h"
#include "report/json.h"
#include "report/layout.h"

namespace downfit::report {

/// Puts `policy` and its ruling over the report's presets into the report. `today` is YYYY-MM-DD.
void rule(CheckReport& report, schema::Policy policy, std::string today);

/// How many presets fail on any target, are undecided on any (and fail on none), and are within the policy.
struct PolicyTally {
    std::size_t within = 0, failing = 0, undecided = 0;
    std::size_t accepted = 0;                  ///< findings
    std::size_t with_accepted = 0;             ///< presets that have any
    std::vector<std::size_t> failing_presets;  ///< indices, in file order
};
[[nodiscard]] PolicyTally policy_tally(const CheckReport& report);

/// For each finding of a preset's check on a target (one of its `targets`) by what it is accepted: "item 2 of the
/// policy: its reason"; empty where it is not.
[[nodiscard]] std::vector<std::string> accepted_words(const CheckReport& report, const PresetReport& preset,
                                                      const compat::TargetCheck& target);

/// What it accepts, what lapsed and what is stale; nothing without a policy file.
void append_policy(std::string& out, const CheckReport& report, const Style& style);

/// What is new since the baseline, what is gone, and what changed meanwhile; nothing without one.
void append_baseline(std::string& out, const CheckReport& report, const Style& style);

/// null without a policy file.
[[nodiscard]] Json policy_json(const CheckReport& report);
/// null without a baseline.
[[nodiscard]] Json baseline_json(const CheckReport& report);

}  // namespace downfit::report
