// Loading rules: what a release does with what it does not expect (docs/formats.md, "Loading rules").
//
// Every rule is optional on purpose: a rule that nobody stated is not guessed. compat/ then tries all
// possibilities and tells the best and the worst.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace downfit::schema {

/// The rules that have a list of possibilities. The order is the order of `rule_table`.
enum class Rule : std::uint8_t {
    out_of_range,
    off_step,
    unknown_choice,
    unknown_parameter,
    missing_parameter,
    repeated_key,
    long_text,
    longer_image,
    shorter_image,
    newer_stamp,
    older_stamp,
};
inline constexpr std::size_t rule_count = 11;

/// Everything a rule may say; which of them a rule allows stands in `rule_table`.
enum class Action : std::uint8_t {
    clamp,
    reset,
    wrap,
    keep,
    round,
    first,
    last,
    skip,
    cut,
    ignore,
    zero,
    use_default,
    held,
    load,
    refuse,
};

/// What a refusal takes with it.
enum class Refuses : std::uint8_t { parameter, block, preset, dump };

/// One row of the table that the loader, the simulation, the reports and the tests all read.
struct RuleRow {
    Rule rule;
    std::string_view name;          ///< as written in schema files
    std::array<Action, 5> actions;  ///< the possibilities, `action_count` of them
    std::size_t action_count;
};

inline constexpr std::array<RuleRow, rule_count> rule_table{{
    {Rule::out_of_range, "out-of-range", {Action::clamp, Action::reset, Action::wrap, Action::keep, Action::refuse}, 5},
    {Rule::off_step, "off-step", {Action::keep, Action::round}, 2},
    {Rule::unknown_choice,
     "unknown-choice",
     {Action::clamp, Action::reset, Action::first, Action::keep, Action::refuse},
     5},
    {Rule::unknown_parameter, "unknown-parameter", {Action::skip, Action::refuse}, 2},
    {Rule::missing_parameter, "missing-parameter", {Action::use_default, Action::held}, 2},
    {Rule::repeated_key, "repeated-key", {Action::first, Action::last}, 2},
    {Rule::long_text, "long-text", {Action::cut, Action::refuse}, 2},
    {Rule::longer_image, "longer-image", {Action::ignore, Action::refuse}, 2},
    {Rule::shorter_image, "shorter-image", {Action::use_default, Action::zero, Action::held, Action::refuse}, 4},
    {Rule::newer_stamp, "newer-stamp", {Action::load, Action::refuse}, 2},
    {Rule::older_stamp, "older-stamp", {Action::load, Action::refuse}, 2},
}};

/// The row of a rule.
constexpr const RuleRow& row_of(Rule rule) {
    return rule_table[static_cast<std::size_t>(rule)];
}

/// The word for an action as written in schema files ("default" for use_default).
[[nodiscard]] std::string_view action_name(Action action);

/// The word for what a refusal takes ("preset").
[[nodiscard]] std::string_view refuses_name(Refuses refuses);

/// The rules that somebody stated. Unstated ones are empty.
struct Rules {
    std::array<std::optional<Action>, rule_count> actions{};
    std::optional<double> tolerance;  ///< in values, >= 0; 0 is meant where not stated
    std::optional<Refuses> refuses;   ///< preset is meant where not stated

    [[nodiscard]] std::optional<Action> operator[](Rule rule) const { return actions[static_cast<std::size_t>(rule)]; }
    /// This, with whatever it does not state taken from `wider` (release over device, parameter over release).
    [[nodiscard]] Rules over(const Rules& wider) const;

    bool operator==(const Rules&) const = default;
};

}  // namespace downfit::schema
