// SHA-256 (FIPS 180-4) of a run of bytes, by libsodium.
#pragma once

#include <string>

#include "base/bytes.h"

namespace downfit {

/// The SHA-256 of `bytes` as 64 lower-case hex digits.
[[nodiscard]] std::string sha256_hex(ByteView bytes);

/// The same in base 64 (RFC 4648, section 4, with padding): 44 characters.
[[nodiscard]] std::string sha256_base64(ByteView bytes);

}  // namespace downfit
