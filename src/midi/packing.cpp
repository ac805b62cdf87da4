#include "midi/packing.h"

#include <algorithm>

namespace downfit::midi {

Result<Bytes> encode(const Packing& packing, ByteView plain) {
    return std::visit([&](const auto& one) { return encode(one, plain); }, packing);
}

Result<Bytes> decode(const Packing& packing, ByteView packed, Origins* origins) {
    return std::visit([&](const auto& one) { return decode(one, packed, origins); }, packing);
}

bool canonical(const Packing& packing, ByteView packed) {
    const Result<Bytes> plain = decode(packing, packed);
    if (!plain) return false;
    const Result<Bytes> again = encode(packing, plain.value());
    return again && std::ranges::equal(again.value(), packed);
}

}  // namespace downfit::midi
