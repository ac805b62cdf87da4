// Scales: from stored numbers to values and back, by the table in docs/formats.md.
#pragma once

#include "second/manual.h"

namespace downfit::testing::second {

/// The value of a stored number; `scale` may be null.
[[nodiscard]] double value_by(const json& scale, double stored);

/// The stored number at which the scale has that value; not a number where there is none.
[[nodiscard]] double stored_by(const json& scale, double value);

}  // namespace downfit::testing::second
