// How presets stand: which come first, which finding is told, and how many there are of each kind.
#pragma once

#include <array>
#include <cstddef>
#include <string_view>
#include <vector>

#include "compat/heaviest.h"
#include "report/check_report.h"

namespace downfit::report {

/// A preset on one release in one word. Reports tell the first of these first.
enum class Standing : std::uint8_t { refused, severe, audible, undecided, damaged, near, intact };
inline constexpr std::size_t standing_count = 7;

[[nodiscard]] Standing standing_of(const compat::PresetCheck& preset, const compat::TargetCheck& target);

/// "refused", "severe", "audible", …
[[nodiscard]] std::string_view standing_word(Standing standing);
/// One letter for matrices: R S A U D N I.
[[nodiscard]] char standing_letter(Standing standing);
[[nodiscard]] inline bool is_safe(Standing standing) {
    return standing >= Standing::near;
}

/// Whether finding `a` is told before `b`: heavier, then silent, then sounding ones first.
[[nodiscard]] bool told_before(const compat::Finding& a, const compat::Finding& b);

/// The finding told first, or nullptr where none weighs anything.
[[nodiscard]] const compat::Finding* main_finding(const compat::TargetCheck& target);

/// Indices of the findings in the order in which they are told.
[[nodiscard]] std::vector<std::size_t> finding_order(const compat::TargetCheck& target);

/// Indices of the report's presets for target number `target`, worst first; equal ones in file order.
[[nodiscard]] std::vector<std::size_t> preset_order(const CheckReport& report, std::size_t target);

/// The same over all targets: by the worst of each.
[[nodiscard]] std::vector<std::size_t> preset_order(const CheckReport& report);

/// Number of the target on which a preset stands worst.
[[nodiscard]] std::size_t worst_target(const compat::PresetCheck& preset);

/// How many presets stand how on one target, and how many carry which caution.
struct Tally {
    std::array<std::size_t, standing_count> presets{};
    std::size_t louder = 0, feedback = 0, level_unknown = 0;  ///< each preset once, under the gravest
    std::size_t stamped_later = 0, undecided_later = 0;       ///< saved later than the target; of them undecided

    [[nodiscard]] std::size_t of(Standing standing) const { return presets[static_cast<std::size_t>(standing)]; }
    [[nodiscard]] std::size_t safe() const { return of(Standing::near) + of(Standing::intact); }
    [[nodiscard]] std::size_t change() const { return of(Standing::severe) + of(Standing::audible); }
    [[nodiscard]] std::size_t cautions() const { return louder + feedback + level_unknown; }
};
[[nodiscard]] Tally tally(const CheckReport& report, std::size_t target);

/// Presets whose gravest caution on any target is of each kind.
[[nodiscard]] Tally cautions_anywhere(const CheckReport& report);

/// Of several targets the one to settle for instead of the lowest: the lowest release above it that brings most presets
/// home that the lowest does not, still below the release that saved any of them. A gain of 0: none.
struct Step {
    std::size_t from = 0, to = 0;  ///< numbers of targets
    std::size_t gain = 0;          ///< presets that are safe on `to` and not on `from`
    std::size_t left = 0;          ///< presets that are not safe on `to` either
};
[[nodiscard]] Step best_step(const CheckReport& report);

}  // namespace downfit::report
