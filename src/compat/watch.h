// Watching a long check: how far it has come. For whoever shows it; nothing is computed from it.
#pragma once

#include <cstddef>
#include <functional>

#include "compat/check.h"

namespace downfit::compat {

/// Called after each part of a work: how many are done, of how many. May be empty; must not throw.
using Watch = std::function<void(std::size_t done, std::size_t of)>;

/// check_dump (compat/check.h), watched entry by entry.
[[nodiscard]] DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original, const Watch& watch);

}  // namespace downfit::compat
