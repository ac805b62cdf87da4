// Drafting presets that are read by name (JSON, XML): which values there are, and how they stand in groups.
//
// Internal to study/.
#pragma once

#include <vector>

#include "dump/dump.h"
#include "schema/layout.h"
#include "study/draft.h"

namespace downfit::study {

/// One parameter for each value that differs between presets, or that some of them leave out of where others have it.
/// Objects and elements are groups; repeated ones by a value or attribute that tells them apart, by the name that
/// stands before them, by their keys, or by their order. What is the same in all presets is counted and left out, with
/// one exception: where a whole group comes and goes and nothing in it differs, what it holds is drafted.
[[nodiscard]] Draft draft_named(const schema::Layout& layout, const std::vector<const dump::Entry*>& presets);

}  // namespace downfit::study
