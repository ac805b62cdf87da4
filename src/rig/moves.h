// What a unit on another release would bring: every single move, the best of them, and the smallest set of moves that
// serves the whole set list.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "rig/judge_rig.h"
#include "rig/plan.h"

namespace downfit::rig {

/// Why a unit cannot be moved to a release.
enum class Barrier : std::uint8_t {
    none,
    stays,       ///< the rig file says so
    no_schema,   ///< there is no release file
    hardware,    ///< the hardware of its variant takes no release so old
    no_way_back  ///< the release that it runs does not go back so far
};
[[nodiscard]] std::string_view barrier_name(Barrier barrier);

/// One unit moved to one release, all others left where they are.
struct Move {
    std::size_t unit = 0;
    std::size_t release = 0;  ///< order; never the one that it runs
    Barrier barrier = Barrier::none;
    std::size_t songs = 0;                  ///< that it would play as saved there
    std::vector<std::size_t> won, lost;     ///< songs that it starts, or stops, playing as saved
    std::size_t own_lost = 0, own_won = 0;  ///< presets of its own that stop, or start, arriving as saved
    std::size_t served = 0;                 ///< songs that some unit plays then, substitutes counted
    bool no_return = false;                 ///< from there it could not go back to the release that it runs
    std::vector<std::string> erases;        ///< what installing it erases or converts, as the release file says

    /// Song/unit pairs won, less those lost, less presets of its own lost.
    [[nodiscard]] std::int64_t worth() const;
};

struct Moves {
    std::vector<Move> all;            ///< by unit, then release
    std::optional<std::size_t> best;  ///< index into `all`; nothing where no move is worth anything
    std::vector<std::size_t> plan;    ///< the smallest set: indices into `all`
    Plan served;                      ///< what it serves, and whether it is exact
    std::size_t served_now = 0;       ///< songs that some unit plays now, substitutes counted
};

/// The best single move is the one worth most; among equals the one that loses fewest presets, then the nearest
/// release, the newer one, the earlier unit.
[[nodiscard]] Moves find_moves(const Material& material, const RigCheck& check, std::size_t most = most_plans);

}  // namespace downfit::rig
