// Bytes hidden behind an exclusive-or: with a fixed key, or with the byte sent before.
//
// Both keep the number of bytes, and byte i comes from byte i. Seven-bit bytes stay seven-bit bytes only under
// a seven-bit key or seed.
#pragma once

#include <cstdint>

#include "base/bytes.h"
#include "base/result.h"
#include "midi/origins.h"

namespace downfit::midi {

/// Byte i is combined with byte i mod n of a key of n bytes.
struct FixedKey {
    Bytes key;  ///< at least one byte

    bool operator==(const FixedKey&) const = default;
};

/// The masked bytes. Fails if the key is empty.
[[nodiscard]] Result<Bytes> encode(const FixedKey& packing, ByteView plain);

/// The bytes behind the mask. Fails if the key is empty.
[[nodiscard]] Result<Bytes> decode(const FixedKey& packing, ByteView packed, Origins* origins = nullptr);

/// Byte i is combined with byte i - 1 as sent, that is, as masked; byte 0 with the seed.
struct RollingKey {
    std::uint8_t seed = 0;

    bool operator==(const RollingKey&) const = default;
};

/// The masked bytes. Never fails.
[[nodiscard]] Result<Bytes> encode(const RollingKey& packing, ByteView plain);

/// The bytes behind the mask. Never fails.
[[nodiscard]] Result<Bytes> decode(const RollingKey& packing, ByteView packed, Origins* origins = nullptr);

}  // namespace downfit::midi
