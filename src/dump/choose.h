// Choosing: which framing each series of a file belongs to, where several framings know the same messages.
//
// Internal to dump/. The pattern that says most counts first, then what the stamp says, what the rest of the file is,
// what fits best.
#pragma once

#include <string>
#include <vector>

#include "dump/assemble.h"

namespace downfit::dump {

/// All entries of the file with the series they came from, in file order, no item in two series.
[[nodiscard]] std::vector<Assembled> choose_entries(const std::string& file, const schema::Device& device,
                                                    const Findings& findings);

}  // namespace downfit::dump
