// The names that layouts have.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "schema/device.h"

namespace downfit::dump {

/// What is wrong, without a place, where `layout` is a name that no release of the devices has; which there are is said
/// with it. Nothing for an empty name.
[[nodiscard]] std::optional<Problem> unknown_layout(const std::vector<const schema::Device*>& devices,
                                                    std::string_view layout);

}  // namespace downfit::dump
