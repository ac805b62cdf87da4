// What a policy makes of a rig: told in lines of an outline and as JSON. Everything is empty, or null, without one.
#pragma once

#include <vector>

#include "report/json.h"
#include "report/rig_report.h"

namespace downfit::report {

/// How many songs are within the policy, what lapsed and what is stale: lines for the summary.
[[nodiscard]] std::vector<OutlineLine> rig_policy_lines(const RigReport& report);

/// Every preset with findings that were accepted, on which units, and why.
[[nodiscard]] std::vector<OutlineLine> rig_accepted_lines(const RigReport& report);

[[nodiscard]] Json rig_policy_json(const RigReport& report);
/// The findings of a preset on a unit that are accepted.
[[nodiscard]] Json rig_accepted_json(const RigReport& report, std::size_t preset, std::size_t unit);

}  // namespace downfit::report
