// Settings in schema files that no stored number can give: mostly a stored number written where a value belongs.
#pragma once

#include "base/problem.h"
#include "schema/device.h"

namespace downfit::dump {

/// One warning for each `range` or `default` that lies beyond what the parameter's scale makes of the least and most
/// stored number of its place, told at the oldest release that has it so. No error: the device loads all the same.
[[nodiscard]] Problems doubtful_settings(const schema::Device& device);

}  // namespace downfit::dump
