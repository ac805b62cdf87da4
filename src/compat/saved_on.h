// Which release saved a preset, as far as anybody knows.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "dump/dump.h"

namespace downfit::compat {

/// The releases that may have saved a preset, oldest first: those of its stamp; where it has none, or one that several
/// have, the one that the user names, if it is among them.
[[nodiscard]] std::vector<std::size_t> releases_that_saved(const schema::Device& device, const dump::Entry& entry,
                                                           const std::optional<std::size_t>& named);

}  // namespace downfit::compat
