// Circles in a graph of things that ask each other. For the sources of schema/ only.
#pragma once

#include <cstddef>
#include <vector>

namespace downfit::schema {

/// `asks[i]` are the things that thing i asks. At least one circle for each set of things that ask each other in
/// circles, each as the things on it, without the first one repeated, beginning with the lowest.
[[nodiscard]] std::vector<std::vector<std::size_t>> find_circles(const std::vector<std::vector<std::size_t>>& asks);

}  // namespace downfit::schema
