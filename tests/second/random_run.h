// Random devices and presets before whatever looks for something wrong with them.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "second/agree.h"

namespace downfit::testing::second {

/// Looks at the presets of one pair of releases; what is wrong first, if anything is.
using LookAt = std::function<std::optional<Disagreement>(const Scene&, const std::vector<Bits>&)>;

/// Looks at `pairs` random pairs with `presets` presets each. What is wrong is shrunk, written as files, and fails the
/// test. From the environment: DOWNFIT_PAIRS=500, as many pairs instead; DOWNFIT_LIST=3, go on until three pairs have
/// something wrong, and print each; DOWNFIT_KEEP=FOLDER, where to write.
void run_random(int pairs, int presets, const std::string& id, const LookAt& look_at);

}  // namespace downfit::testing::second
