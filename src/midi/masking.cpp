#include "midi/masking.h"

#include <cstddef>
#include <numeric>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

void put_identity(Origins* origins, std::size_t count) {
    if (!origins) return;
    origins->resize(count);
    std::iota(origins->begin(), origins->end(), std::uint32_t{0});
}

}  // namespace

Result<Bytes> encode(const FixedKey& packing, ByteView plain) {
    if (packing.key.empty()) return setting_problem("the key is empty", "at least one byte");
    Bytes out(plain.begin(), plain.end());
    for (std::size_t i = 0; i < out.size(); ++i) out[i] ^= packing.key[i % packing.key.size()];
    return out;
}

Result<Bytes> decode(const FixedKey& packing, ByteView packed, Origins* origins) {
    put_identity(origins, packed.size());
    return encode(packing, packed);
}

Result<Bytes> encode(const RollingKey& packing, ByteView plain) {
    Bytes out;
    out.reserve(plain.size());
    std::uint8_t key = packing.seed;
    for (const std::uint8_t byte : plain) {
        key ^= byte;
        out.push_back(key);
    }
    return out;
}

Result<Bytes> decode(const RollingKey& packing, ByteView packed, Origins* origins) {
    put_identity(origins, packed.size());
    Bytes out;
    out.reserve(packed.size());
    std::uint8_t key = packing.seed;
    for (const std::uint8_t byte : packed) {
        out.push_back(byte ^ key);
        key = byte;
    }
    return out;
}

}  // namespace downfit::midi
