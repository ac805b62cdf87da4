// Every parameter instance of a release with the place where it stands: one line each, by name.
#pragma once

#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "second/manual.h"

namespace downfit::testing::second {

using Bits = std::vector<std::uint8_t>;
/// A bit of a body: the run of bytes that it lies in ("" is the body, "3:1/" the value of its first record 3), and
/// its number there.
using Place = std::pair<std::string, std::int64_t>;

/// One instance of a group.
struct Spot {
    std::string name, path, key;
    std::string parent;        ///< name of the spot around it, empty for none
    std::vector<int> numbers;  ///< from 1, the own last
    std::string run;           ///< the run of bytes that its places count from
    std::string inner_run;     ///< the run that tags inside it mean
    std::int64_t base = 0;
    const Entry* entry = nullptr;
};

/// One instance of a parameter.
struct Line {
    std::string name, id, key;
    std::string spot;  ///< name of the group instance, empty for none
    std::string run;
    std::int64_t base = 0;
    int element = 0;  ///< of a list, from 1
    const Entry* entry = nullptr;
};

/// What hangs on a line: nothing (not in the map), whether groups are on, or more: what exists, which alternate or
/// scene is used, what a control moves.
enum class Hangs { on, more };

/// All of one release. Points into the manual.
struct Sheet {
    std::map<std::string, Spot> spots;
    std::map<std::string, Line> lines;
    std::map<std::string, Hangs> hangs;  ///< by line

    /// The line that `id` means as seen from a spot; empty where there is none.
    [[nodiscard]] std::string meant(const std::string& id, const std::string& from) const;
    /// The spots around a line or spot, innermost first.
    [[nodiscard]] std::vector<const Spot*> around(const std::string& spot) const;
};

[[nodiscard]] Sheet sheet_of(const Manual& manual);

/// The places of all bits of a value, most significant first; of a text those of its bytes, in order. `says` are the
/// attributes that hold `at` and its companions.
[[nodiscard]] std::vector<Place> places_of(const json& says, const std::string& run, std::int64_t base);

}  // namespace downfit::testing::second
