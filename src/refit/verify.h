// Reading back what was written.
#pragma once

#include <string>

#include "dump/dump.h"

namespace downfit::refit {

/// Reads written bytes and holds them against what was meant to be written: the same entries, in the same slots, with
/// the same bodies and stamps, and no damage that was not there before. Fails where anything differs.
[[nodiscard]] Result<dump::Dump> read_back(const dump::Dump& meant, ByteView bytes, const std::string& layout);

}  // namespace downfit::refit
