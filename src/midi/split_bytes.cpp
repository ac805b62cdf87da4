#include "midi/split_bytes.h"

#include <cstddef>
#include <cstdint>
#include <optional>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

std::optional<Problem> first_above(ByteView bytes, std::uint8_t limit, std::size_t offset, const char* what) {
    for (std::size_t i = 0; i < bytes.size(); ++i) {
        if (bytes[i] > limit) {
            return byte_problem(offset + i, 1, "byte " + hex_byte(bytes[i]) + " is no " + what,
                                "00 to " + hex_byte(limit));
        }
    }
    return std::nullopt;
}

std::optional<Problem> check(const SplitArrays& packing) {
    if (packing.low_bits >= 1 && packing.low_bits <= 7) return std::nullopt;
    return setting_problem("a byte cannot be split above its lowest " + std::to_string(packing.low_bits) + " bits",
                           "1 to 7 low bits");
}

}  // namespace

Result<Bytes> encode(const Nibbles& packing, ByteView plain) {
    const bool high_first = packing.order == Nibbles::Order::high_first;
    Bytes out;
    out.reserve(plain.size() * 2);
    for (const std::uint8_t byte : plain) {
        const auto high = static_cast<std::uint8_t>(byte >> 4);
        const auto low = static_cast<std::uint8_t>(byte & 0x0F);
        out.push_back(high_first ? high : low);
        out.push_back(high_first ? low : high);
    }
    return out;
}

Result<Bytes> decode(const Nibbles& packing, ByteView packed, Origins* origins) {
    if (origins) origins->clear();
    if (auto problem = first_above(packed, 0x0F, 0, "nibble")) return *std::move(problem);
    if (packed.size() % 2 != 0) {
        return byte_problem(packed.size() - 1, 1, "the last nibble has no partner", "an even number of nibbles");
    }
    const std::size_t high = packing.order == Nibbles::Order::high_first ? 0 : 1;
    Bytes out;
    out.reserve(packed.size() / 2);
    for (std::size_t i = 0; i < packed.size(); i += 2) {
        out.push_back(static_cast<std::uint8_t>(packed[i + high] << 4 | packed[i + 1 - high]));
        if (origins) origins->push_back(static_cast<std::uint32_t>(i));
    }
    return out;
}

Result<Bytes> encode(const SplitArrays& packing, ByteView plain) {
    if (auto problem = check(packing)) return *std::move(problem);
    const unsigned mask = (1u << packing.low_bits) - 1;
    Bytes out;
    out.reserve(plain.size() * 2);
    for (const std::uint8_t byte : plain) out.push_back(static_cast<std::uint8_t>(byte >> packing.low_bits));
    for (const std::uint8_t byte : plain) out.push_back(static_cast<std::uint8_t>(byte & mask));
    return out;
}

Result<Bytes> decode(const SplitArrays& packing, ByteView packed, Origins* origins) {
    if (origins) origins->clear();
    if (auto problem = check(packing)) return *std::move(problem);
    if (packed.size() % 2 != 0) {
        return byte_problem(packed.size() - 1, 1, "the two arrays have different lengths", "an even number of bytes");
    }
    const std::size_t count = packed.size() / 2;
    const ByteView high = packed.first(count);
    const ByteView low = packed.last(count);
    const auto high_limit = static_cast<std::uint8_t>(0xFFu >> packing.low_bits);
    const auto low_limit = static_cast<std::uint8_t>((1u << packing.low_bits) - 1);
    if (auto problem = first_above(high, high_limit, 0, "high part")) return *std::move(problem);
    if (auto problem = first_above(low, low_limit, count, "low part")) return *std::move(problem);
    Bytes out;
    out.reserve(count);
    for (std::size_t i = 0; i < count; ++i) {
        out.push_back(static_cast<std::uint8_t>(high[i] << packing.low_bits | low[i]));
        if (origins) origins->push_back(static_cast<std::uint32_t>(packing.low_bits > 4 ? count + i : i));
    }
    return out;
}

}  // namespace downfit::midi
