// How much the worst of a preset's findings weighs.
#pragma once

#include "compat/check.h"

namespace downfit::compat {

/// The heaviest weight among a target's findings; none without any.
[[nodiscard]] Weight heaviest(const TargetCheck& target);

}  // namespace downfit::compat
