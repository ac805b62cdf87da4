#include "base/digest.h"

#include <array>

#include <sodium/crypto_hash_sha256.h>

namespace downfit {

std::string sha256_hex(ByteView bytes) {
    std::array<unsigned char, crypto_hash_sha256_BYTES> hash{};
    crypto_hash_sha256(hash.data(), bytes.data(), bytes.size());
    constexpr char digits[] = "0123456789abcdef";
    std::string text;
    text.reserve(2 * hash.size());
    for (const unsigned char byte : hash) {
        text.push_back(digits[byte >> 4]);
        text.push_back(digits[byte & 0x0F]);
    }
    return text;
}

}  // namespace downfit
