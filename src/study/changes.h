// Everything that changed between two releases, by their resolved schemas, and what it does to presets either way.
#pragma once

#include <cstddef>
#include <vector>

#include "schema/device.h"
#include "study/change.h"

namespace downfit::study {

/// All changes between two releases of one device, by orders; both have schemas and `older` is the lower. With what
/// each does to presets by the loading rules, and which of the releases between brought it (only those with schemas).
/// In the order of the newer release's file: groups, parameters, the rest. What came and went between is not among
/// them.
[[nodiscard]] std::vector<Change> changes_between(const schema::Device& device, std::size_t older, std::size_t newer);

/// The same without the releases that brought each.
[[nodiscard]] std::vector<Change> compare_releases(const schema::Device& device, std::size_t older, std::size_t newer);

}  // namespace downfit::study
