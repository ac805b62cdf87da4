// Strips: a number on its old and its new range, drawn.
#pragma once

#include <string>

#include "compat/check.h"

namespace downfit::report {

/// SVG of two rails, one for each release, on one scale: the saved value as a filled mark on the upper, what is there
/// after loading as an open one on the lower; a dotted line where that release has no such parameter. Empty where one
/// that both have is no number on a range on either. The words stand beside it for
/// those who do not see it.
[[nodiscard]] std::string strip(const compat::Finding& finding);

/// SVG of a bar: so many of `all` safe and intact, so many safe with slight differences, the rest open.
[[nodiscard]] std::string bar(std::size_t intact, std::size_t near, std::size_t all);

}  // namespace downfit::report
