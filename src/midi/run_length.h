// Repeated bytes sent once, with a count.
//
// Format: a byte other than the escape byte stands for itself. The escape byte is followed by a count and a
// value, and the three stand for that many copies of the value. The value may be any byte, the escape byte too.
// With escape FF: 01 02 02 02 02 FF is sent as 01 FF 04 02 FF 01 FF.
#pragma once

#include <cstdint>

#include "base/bytes.h"
#include "base/limits.h"
#include "base/result.h"
#include "midi/origins.h"

namespace downfit::midi {

/// The settings of this packing.
struct RunLength {
    std::uint8_t escape = 0x7F;
    std::uint8_t max_count = 0x7F;                        ///< 01 to FF; what a count may be
    std::uint32_t size_limit = limits::largest_unpacked;  ///< the most plain bytes; more is refused both ways

    bool operator==(const RunLength&) const = default;
};

/// One way of many to send `plain`: from left to right, each longest run of equal bytes is cut into pieces of
/// max_count; a piece of four or more bytes, and every piece made of escape bytes, is sent as three bytes, any
/// other as it is. Fails if max_count is 0, or with more than size_limit bytes.
[[nodiscard]] Result<Bytes> encode(const RunLength& packing, ByteView plain);

/// The bytes that were sent, whatever way was chosen. The origin of a repeated byte is the value. Fails, with
/// the index of the byte at fault: a count that is 0 or above max_count, or an input that ends within a run
/// (place: from the escape byte to the end), more than size_limit bytes; also if max_count is 0.
[[nodiscard]] Result<Bytes> decode(const RunLength& packing, ByteView packed, Origins* origins = nullptr);

}  // namespace downfit::midi
