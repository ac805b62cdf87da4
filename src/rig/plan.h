// The smallest set of moves after which as many songs as can be are played by some unit. Numbers only: what a song,
// a unit and a move are is the business of whoever asks.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace downfit::rig {

/// Something that a unit may do: stay, or move to a release.
struct PlanOption {
    std::vector<bool> songs;  ///< that the unit plays then; one for each song
    std::int64_t worth = 0;   ///< decides among sets of equally many moves: the higher sum wins
};

/// One unit: what it plays where it is, and what it would play elsewhere.
struct PlanUnit {
    PlanOption stay;
    std::vector<PlanOption> moves;
};

struct PlannedMove {
    std::size_t unit = 0;  ///< index of the unit
    std::size_t move = 0;  ///< index into PlanUnit::moves

    bool operator==(const PlannedMove&) const = default;
};

struct Plan {
    std::vector<PlannedMove> moves;   ///< by unit, each at most once
    std::vector<std::size_t> beyond;  ///< songs that no unit plays on any release, rising
    std::vector<std::size_t> missed;  ///< songs that a unit would play elsewhere, but not together with all others
    std::int64_t worth = 0;           ///< sum over all units, those that stay included
    bool exact = true;                ///< no other set serves more songs, or as many with fewer moves, or is worth more
};

/// So many combinations are held at once before the search falls back to a good guess.
inline constexpr std::size_t most_plans = 200'000;

/// The smallest set, exactly, while no more than `most` combinations have to be held at once; beyond that a greedy one,
/// which says that it is not exact. Among equals the one worth most, then the one that moves earlier units.
[[nodiscard]] Plan smallest_plan(const std::vector<PlanUnit>& units, std::size_t songs, std::size_t most = most_plans);

}  // namespace downfit::rig
