// A policy and its acceptances in plain words and as JSON, whatever report they stand in.
#pragma once

#include <cstddef>
#include <string>

#include "compat/policy.h"
#include "report/json.h"

namespace downfit::report {

/// Columns of a preset's name where a policy is told.
inline constexpr std::size_t longest_policy_name = 32;

/// `item 2 (line 14; preset "Lead")`.
[[nodiscard]] std::string acceptance_words(const schema::Policy& policy, std::size_t index);

/// "item 2 of the policy: its reason".
[[nodiscard]] std::string accepted_by(const schema::Policy& policy, std::size_t index);

/// Why something that an acceptance means is not covered: "amp.drive: severe now, audible was accepted".
[[nodiscard]] std::string lapse_words(const schema::Acceptance& entry, const compat::Lapse& lapse);

/// "holds", "lapsed", "stale", "not-met".
[[nodiscard]] std::string_view acceptance_state(std::size_t findings, bool lapsed, bool stale);

/// An acceptance as the file has it, from `line` to `until`.
[[nodiscard]] Json acceptance_json(const schema::Acceptance& entry);

/// Adds which parameter lapsed and why.
void add_lapse(const compat::Lapse& lapse, Json& json);

/// The policy from `file` to `tolerances`.
[[nodiscard]] Json policy_head_json(const schema::Policy& policy, const std::string& today);

}  // namespace downfit::report
