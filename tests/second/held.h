// What a unit may have held before: tried out where anything else hangs on it (docs/loading.md, "What the unit held
// before").
#pragma once

#include <map>
#include <string>
#include <vector>

#include "second/player.h"

namespace downfit::testing::second {

/// What hangs on each line of a sheet.
[[nodiscard]] std::map<std::string, Hangs> bearing_lines(const Sheet& sheet);

/// All ways in which the release may load the body in one world, one for each thing that the unit may have held before
/// where that matters. Adds to `plays`; false where there would be more than `most` of them.
[[nodiscard]] bool add_plays(const Manual& manual, const Sheet& sheet, const Shelf& shelf, const Body& body,
                             const World& world, std::size_t most, std::vector<Played>& plays);

}  // namespace downfit::testing::second
