// Bytes sent in two parts: as pairs of nibbles, or as two arrays.
#pragma once

#include "base/bytes.h"
#include "base/result.h"
#include "midi/origins.h"

namespace downfit::midi {

/// Each byte as two bytes of 00 to 0F, side by side. A5 is 0A 05 high first and 05 0A low first.
struct Nibbles {
    enum class Order { high_first, low_first };

    Order order = Order::high_first;

    bool operator==(const Nibbles&) const = default;
};

/// The nibbles of `plain`. Never fails.
[[nodiscard]] Result<Bytes> encode(const Nibbles& packing, ByteView plain);

/// The bytes the nibbles make. The origin of a byte is the first nibble of its pair. Fails, with the index of the byte
/// at fault: a byte above 0F, or a last nibble without its partner.
[[nodiscard]] Result<Bytes> decode(const Nibbles& packing, ByteView packed, Origins* origins = nullptr);

/// All high parts, then all low parts: n bytes travel as 2n. Byte b has the high part b >> low_bits and, as its
/// low part, the low_bits below.
struct SplitArrays {
    unsigned low_bits = 7;  ///< 1 to 7

    bool operator==(const SplitArrays&) const = default;
};

/// The two arrays of `plain`. Fails if `low_bits` is out of range.
[[nodiscard]] Result<Bytes> encode(const SplitArrays& packing, ByteView plain);

/// The bytes the arrays make. The origin of a byte is the part with more bits, the high one of two equal ones.
/// Fails, with the index of the byte at fault: an odd number of bytes, or a part too large for its bits; also if
/// `low_bits` is out of range.
[[nodiscard]] Result<Bytes> decode(const SplitArrays& packing, ByteView packed, Origins* origins = nullptr);

}  // namespace downfit::midi
