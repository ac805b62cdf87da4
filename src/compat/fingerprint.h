// Fingerprints: by what policies and baselines know a preset on a release, and each of its findings, again.
#pragma once

#include <string>

#include "compat/check.h"

namespace downfit::compat {

/// Sets the fingerprints of a preset on its targets and of their findings. `file`: the dump's, without the folder it
/// lies in; `name_is_unique`: no other preset of the dump has its name, else its slot counts as well. check_dump does
/// this.
void add_fingerprints(const schema::Device& device, const std::string& file, bool name_is_unique, PresetCheck& preset);

}  // namespace downfit::compat
