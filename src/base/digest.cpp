#include "base/digest.h"

#include <array>

#include <sodium/crypto_hash_sha256.h>
#include <sodium/utils.h>

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

std::string sha256_base64(ByteView bytes) {
    std::array<unsigned char, crypto_hash_sha256_BYTES> hash{};
    crypto_hash_sha256(hash.data(), bytes.data(), bytes.size());
    constexpr std::size_t length = sodium_base64_ENCODED_LEN(crypto_hash_sha256_BYTES, sodium_base64_VARIANT_ORIGINAL);
    std::array<char, length> text{};
    sodium_bin2base64(text.data(), text.size(), hash.data(), hash.size(), sodium_base64_VARIANT_ORIGINAL);
    return text.data();
}

}  // namespace downfit
