// Whether two parameters can ever exist at the same time, by their conditions. For the sources of schema/ only.
#pragma once

#include "schema/instances.h"

namespace downfit::schema {

/// Whether the conditions of both fields, and of the groups around them, can never hold together. False where that
/// cannot be shown.
[[nodiscard]] bool never_together(const Device& device, const Instances& instances, const Field& a, const Field& b);

}  // namespace downfit::schema
