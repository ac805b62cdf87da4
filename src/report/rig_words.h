// Songs, units and moves in plain words. For the reports on `rig`.
#pragma once

#include <string>
#include <vector>

#include "report/rig_report.h"

namespace downfit::report {

/// How a song does on a unit: a sign whose shape tells the standings apart, a word, marks ("!" a caution, "*" an asset
/// is lacking, "?" of an asset nothing is known, "^" let pass by the policy, "_" not let pass).
[[nodiscard]] OutlineCell pair_cell(const RigReport& report, std::size_t song, std::size_t unit);
/// What the signs and marks mean.
[[nodiscard]] std::string pair_legend(const RigReport& report);

/// Why a song does not play on a unit as saved, or is not within the policy although it does; empty for others. Nothing
/// for another device's presets.
[[nodiscard]] std::string pair_reason(const RigReport& report, std::size_t song, std::size_t unit);

/// "slot 12 "Nine Lamps" of ida".
[[nodiscard]] std::string preset_words(const RigReport& report, std::size_t preset);
/// "bo (2.10)", with a title "Bo's" where the rig file says whose it is: "bo (Bo's, 2.10)".
[[nodiscard]] std::string unit_words(const RigReport& report, std::size_t unit);
/// Titles of songs, the first few of them by name.
[[nodiscard]] std::string song_list(const RigReport& report, const std::vector<std::size_t>& songs);

/// "bo from 2.10 to 3.00".
[[nodiscard]] std::string move_words(const RigReport& report, const rig::Move& move);
/// "4 more songs play as saved, none fewer; 3 of its own 125 presets no longer arrive".
[[nodiscard]] std::string move_effect(const RigReport& report, const rig::Move& move);
/// Why there is no such move: "its hardware does not take it".
[[nodiscard]] std::string barrier_words(rig::Barrier barrier);

}  // namespace downfit::report
