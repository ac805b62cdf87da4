// Every reversible packing under one type, so that a layout can name any of them, or several in a row.
#pragma once

#include <variant>

#include "base/bytes.h"
#include "base/result.h"
#include "midi/deflate.h"
#include "midi/masking.h"
#include "midi/origins.h"
#include "midi/run_length.h"
#include "midi/seven_bit.h"
#include "midi/split_bytes.h"

namespace downfit::midi {

/// A packing and its settings. Each alternative's own header has its format and what may fail.
using Packing = std::variant<SevenBit, Nibbles, SplitArrays, FixedKey, RollingKey, RunLength, Deflate>;

/// `plain`, packed. Whatever this gives, decode gives `plain` back.
[[nodiscard]] Result<Bytes> encode(const Packing& packing, ByteView plain);

/// `packed`, unpacked; `origins` as described at its type.
[[nodiscard]] Result<Bytes> decode(const Packing& packing, ByteView packed, Origins* origins = nullptr);

/// Whether `packed` can be unpacked, and packing the result gives the same bytes again. False means that a dump
/// rewritten without any change would still differ: unused bits are set, runs are cut in another way, or another
/// compressor was at work. It is not an error.
[[nodiscard]] bool canonical(const Packing& packing, ByteView packed);

}  // namespace downfit::midi
