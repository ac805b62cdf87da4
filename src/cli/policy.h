// The policy file that was named, the date by which it is read, and the baseline.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/command.h"
#include "report/baseline.h"
#include "schema/policy.h"

namespace downfit::cli {

/// Reads --policy and --today, or says what is wrong with them. Without --policy the policy stays as it is made.
[[nodiscard]] Problems read_policy_options(const Call& call, schema::Policy& policy, std::string& today);

/// What in a policy does not fit the devices of a rig: it is for none of them, or names releases or parameters that
/// none of them has.
[[nodiscard]] Problems check_rig_policy(const schema::Policy& policy,
                                        const std::vector<const schema::Device*>& devices);

/// Reads --baseline, or says what is wrong with it.
[[nodiscard]] Problems read_baseline_option(const Call& call, std::optional<report::BaselineFile>& baseline);

}  // namespace downfit::cli
