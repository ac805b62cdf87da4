// Deflated bytes (RFC 1951), bare or in a zlib (RFC 1950) or gzip (RFC 1952) wrapper; the work is zlib's.
#pragma once

#include <cstdint>

#include "base/bytes.h"
#include "base/limits.h"
#include "base/result.h"
#include "midi/origins.h"

namespace downfit::midi {

/// The settings of this packing.
struct Deflate {
    enum class Wrapper { raw, zlib, gzip };

    Wrapper wrapper = Wrapper::zlib;
    int level = 9;  ///< 0 (stored) to 9 (smallest); only encoding uses it
    std::uint32_t size_limit =
        limits::largest_unpacked;  ///< the most plain bytes, up to 2^30; more is refused both ways

    bool operator==(const Deflate&) const = default;
};

/// `plain`, deflated. The same zlib gives the same bytes every time (a gzip header carries no time and no name);
/// another compressor may choose others. Fails: more than size_limit bytes, a setting out of range, no memory.
[[nodiscard]] Result<Bytes> encode(const Deflate& packing, ByteView plain);

/// The inflated bytes of one stream. The origin of a byte is the input byte whose arrival completed it; asking
/// for origins makes this slower. Never holds much more than size_limit bytes. Fails, with the index of the byte
/// at which it was noticed: broken data or check value, input that ends too early, bytes after the end of the
/// stream, a preset dictionary, more than size_limit bytes; also a setting out of range, no memory.
[[nodiscard]] Result<Bytes> decode(const Deflate& packing, ByteView packed, Origins* origins = nullptr);

}  // namespace downfit::midi
