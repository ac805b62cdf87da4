// Random devices and presets before whatever looks for something wrong with them.
#pragma once

#include <filesystem>
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

/// The same, but where DOWNFIT_REPLAY=FOLDER is set, the case in that folder alone.
void run_random_or_replay(int pairs, int presets, const std::string& id, const LookAt& look_at);

/// Looks at every case in `folder`: those that were mended are kept there. Nothing may be wrong with any.
void replay_all(const std::filesystem::path& folder, const LookAt& look_at);

}  // namespace downfit::testing::second
