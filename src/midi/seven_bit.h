// Eight-bit bytes in seven-bit data: every seven bytes travel as eight.
//
// The orders that put the seven top bits into a byte of their own (the auxiliary byte) handle the last, shorter
// group alike: n bytes travel as n + 1, and the unused bits of the auxiliary byte are 0.
#pragma once

#include "base/bytes.h"
#include "base/result.h"
#include "midi/origins.h"

namespace downfit::midi {

/// The settings of this packing.
struct SevenBit {
    enum class Order {
        /// Auxiliary byte first, top bit of the group's first byte in its bit 6. MIDI 1.0 Detailed Specification
        /// 4.2.1, p. 43 (File Dump): AAAAaaaa ... GGGGgggg travels as 0ABCDEFG and the seven low parts.
        first_high,
        first_low,  ///< auxiliary byte first, top bit of the group's first byte in its bit 0
        aux_last,   ///< as first_high, but the auxiliary byte follows its group
        stream,     ///< one stream of bits, highest first, cut into sevens and filled up with 0 at its end
    };

    Order order = Order::first_high;

    bool operator==(const SevenBit&) const = default;
};

/// `plain` as bytes of 00 to 7F. Never fails.
[[nodiscard]] Result<Bytes> encode(const SevenBit& packing, ByteView plain);

/// The bytes that were packed. Unused bits are not looked at. Fails, with the index of the byte at fault: a byte
/// above 7F, or a single byte after the last whole group, which can hold nothing.
[[nodiscard]] Result<Bytes> decode(const SevenBit& packing, ByteView packed, Origins* origins = nullptr);

}  // namespace downfit::midi
