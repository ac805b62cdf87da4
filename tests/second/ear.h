// How a difference is heard: the tables "Weight" and "Just-noticeable differences" of docs/loading.md, row by row.
#pragma once

#include <optional>
#include <string>

#include "second/manual.h"

namespace downfit::testing::second {

/// Weights are numbers here: none 0, slight 1, audible 2, severe 3.
enum : int { none = 0, slight = 1, audible = 2, severe = 3 };

/// A value in the unit that it is compared in.
struct Physical {
    double value = 0;
    std::string unit;  ///< "dB", "Hz", "s", "cents", "bpm", "share", "degrees", ""
};

[[nodiscard]] Physical physical(double value, const std::string& unit);
[[nodiscard]] bool is_same(const Physical& a, const Physical& b);

/// What a change of a number weighs. `span` is N's range in the unit of comparison.
struct Heard {
    int weight = none;
    std::string caution;  ///< "louder", "feedback", "level unknown"
};
[[nodiscard]] Heard hear(const Physical& before, const Physical& after, const std::string& role, double span);

}  // namespace downfit::testing::second
