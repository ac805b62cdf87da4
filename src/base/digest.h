// SHA-256 (FIPS 180-4) of a run of bytes, by libsodium.
#pragma once

#include <string>

#include "base/bytes.h"

namespace downfit {

/// The SHA-256 of `bytes` as 64 lower-case hex digits.
[[nodiscard]] std::string sha256_hex(ByteView bytes);

}  // namespace downfit
