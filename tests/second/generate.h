// Random devices with their releases, and random presets for them.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "second/draws.h"
#include "second/judge.h"

namespace downfit::testing::second {

/// A device with two or three releases, and which of them save and load.
struct Scene {
    std::vector<std::pair<std::string, std::string>> files;  ///< name and text, the device first
    std::string saved, loading;
    std::vector<std::string> kinds;  ///< what kinds of change were made, for counting
};

/// All decisions come from `draws`.
[[nodiscard]] Scene make_scene(Draws& draws);

/// The body of preset `number` of those that `seed` gives: bytes that the saving release would write, odd ones among
/// them. Depends on nothing else.
[[nodiscard]] Bits make_body(const Manual& saved, const Sheet& sheet, std::uint64_t seed, int number);

// Pieces of make_scene.

/// Attributes of a random parameter whose place is not given yet (`as`, `bit`, `width`, ... but no `at`).
[[nodiscard]] json make_parameter(Draws& draws);
/// New attributes for a number stored as `says` says: scale, range, plays, step, default, neutral, unit, role.
void give_meaning(Draws& draws, json& says);
/// Bytes that a parameter takes.
[[nodiscard]] std::int64_t bytes_taken(const json& says);
/// A condition on one of the parameters whose number is below `under`, seen from the group `path`; null where there is
/// none.
[[nodiscard]] json make_condition(Draws& draws, const Manual& manual, int under, const std::string& path);
/// The number in the last step of an id ("g5.p6-b" is 6).
[[nodiscard]] int number_in(const std::string& id);
/// The release file that extends `manual` with random changes; kinds of change are added to `kinds`.
[[nodiscard]] json make_changes(Draws& draws, const Manual& manual, const std::string& release,
                                std::vector<std::string>& kinds);
/// Says of some choices of the release that the maker changed how they sound.
void give_revoicing(Draws& draws, const Manual& manual, json& file);
/// Rules for `rules`, some of them left open.
[[nodiscard]] json make_rules(Draws& draws);
/// A rule of one parameter or release.
void give_rule(Draws& draws, json& rules, bool of_parameter);

}  // namespace downfit::testing::second
