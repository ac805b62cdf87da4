// Outcomes, weights, verdicts, cautions: the catalogue that simulation, reports, `about`, docs and tests all read.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace downfit::compat {

/// What happens to one parameter on loading. The order is the order of `outcome_table`.
enum class Outcome : std::uint8_t {
    kept,
    rounded,
    clamped,
    reset,
    lost,
    swapped,
    rescaled,
    displaced,
    woken,
    out_of_range,
    unfilled,
    revoiced,
    cut,
    added,
    unsure,
};
inline constexpr std::size_t outcome_count = 15;

/// How much of it anyone would hear; comparable, higher is worse.
enum class Weight : std::uint8_t { none, slight, audible, severe };

/// Whether a block (or what belongs to it) can be heard; comparable, higher is more.
enum class Activity : std::uint8_t {
    dormant,   ///< nothing can bring it in
    standby,   ///< off, and no stored control is known that brings it in
    assigned,  ///< off, but a scene or an assigned control brings it in (standby that weighs as sounding)
    sounding,
};

/// What happens to the preset; comparable, higher is worse.
enum class Verdict : std::uint8_t { intact, near, altered, undecided, refused };
inline constexpr std::size_t verdict_count = 5;

enum class CautionKind : std::uint8_t { louder, feedback, level_unknown };

/// One row of the outcome catalogue.
struct OutcomeRow {
    Outcome outcome;
    std::string_view name;   ///< as written everywhere
    bool silent;             ///< the unit shows nothing wrong
    std::string_view title;  ///< one line
    std::string_view help;   ///< what it means
    std::string_view example;
    std::string_view advice;  ///< what to do
};

/// The catalogue, one row for each outcome, in the order of the enum.
[[nodiscard]] const std::array<OutcomeRow, outcome_count>& outcome_table();
[[nodiscard]] const OutcomeRow& row_of(Outcome outcome);
/// The outcome with that name, or nullopt.
[[nodiscard]] std::optional<Outcome> find_outcome(std::string_view name);

[[nodiscard]] std::string_view weight_name(Weight weight);
[[nodiscard]] std::optional<Weight> find_weight(std::string_view name);
[[nodiscard]] std::string_view activity_name(Activity activity);  ///< "standby" for assigned too: DESIGN's three words
[[nodiscard]] std::string_view verdict_name(Verdict verdict);
[[nodiscard]] std::string_view verdict_help(Verdict verdict);
[[nodiscard]] std::string_view caution_name(CautionKind kind);

}  // namespace downfit::compat
