// Small devices made up at random, for laws: a few parameters of every kind, changed from release to release, under
// loading rules of which some are stated.
#pragma once

#include <cstddef>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "dump/dump.h"
#include "schema/device.h"

namespace downfit::testing {

using Json = nlohmann::json;

/// A device as the files that describe it, so that a law can change one thing in them.
struct RandomFiles {
    Json device;
    std::vector<Json> releases;  ///< oldest first
};

inline constexpr std::size_t full_body = 24;  ///< bytes of a body that is whole

/// Made up by RapidCheck: only inside a property. Two to four releases; bodies of 24 bytes.
[[nodiscard]] RandomFiles random_files();

/// The device that the files describe, which must load: throws std::logic_error, with the problems, if it does not.
[[nodiscard]] schema::Device load_files(const RandomFiles& files);

/// A preset of such a device saved on its release `saved`, made up by RapidCheck: mostly numbers that mean something
/// there, some at the ends of ranges, some beyond; now and then a byte short or long.
[[nodiscard]] dump::Entry random_entry(const RandomFiles& files, std::size_t saved);

/// From `least` to `most`, both included, and true in `percent` of all cases; by RapidCheck.
[[nodiscard]] int pick(int least, int most);
[[nodiscard]] std::size_t pick_of(std::size_t count);  ///< an index below `count`, which must not be 0
[[nodiscard]] bool chance(int percent);

}  // namespace downfit::testing
