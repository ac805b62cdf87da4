// How much the worst of a preset's findings weighs, and what verdict that makes.
#pragma once

#include "compat/check.h"

namespace downfit::compat {

/// The heaviest weight among a target's findings; none without any.
[[nodiscard]] Weight heaviest(const TargetCheck& target);

/// The verdict on a preset that loads, whose heaviest finding weighs so much.
[[nodiscard]] Verdict verdict_of(Weight weight);

}  // namespace downfit::compat
