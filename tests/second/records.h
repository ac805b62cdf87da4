// Bodies of records: where each record that a release knows stands.
#pragma once

#include <map>
#include <string>

#include "second/player.h"

namespace downfit::testing::second {

struct Runs {
    std::map<std::string, Run> found;  ///< by the run's name, as in Line::run
    bool unknown = false;              ///< a record that the release does not know
    bool cut = false;                  ///< a record runs past the end of what holds it
};

/// Nothing for bodies without records.
[[nodiscard]] Runs find_runs(const Manual& manual, const Sheet& sheet, const Bits& body, bool last_counts);

/// What stands at those places; nothing where any of them lies beyond the end.
[[nodiscard]] Number read_at(const json& look, const std::vector<Place>& places, const Bits& body, const Runs& runs);

/// What all bits zero mean there.
[[nodiscard]] Number zero_in(const json& look);

}  // namespace downfit::testing::second
