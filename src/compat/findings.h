// From judged runs to findings, cautions and causes of one preset on one pair of releases.
#pragma once

#include "compat/check.h"
#include "compat/explore.h"

namespace downfit::compat {

/// Fills findings, cautions, causes, doubts, repairs and the number of parameters compared. At least one run must be
/// judged.
void collect_findings(const ReleasePair& pair, const Exploration& exploration, TargetCheck& check);

}  // namespace downfit::compat
