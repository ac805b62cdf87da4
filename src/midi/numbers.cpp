#include "midi/numbers.h"

#include <algorithm>
#include <bit>
#include <string>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

constexpr unsigned widest_sample = 28;

template <class Raw>
Raw joined(std::span<const std::uint8_t, sizeof(Raw)> bytes, ByteOrder order) {
    Raw raw = 0;
    for (std::size_t i = 0; i < sizeof(Raw); ++i) {
        raw = raw << 8 | bytes[order == ByteOrder::big_endian ? i : sizeof(Raw) - 1 - i];
    }
    return raw;
}

template <class Raw>
std::array<std::uint8_t, sizeof(Raw)> taken_apart(Raw raw, ByteOrder order) {
    std::array<std::uint8_t, sizeof(Raw)> bytes{};
    for (std::size_t i = 0; i < sizeof(Raw); ++i) {
        bytes[order == ByteOrder::little_endian ? i : sizeof(Raw) - 1 - i] = static_cast<std::uint8_t>(raw >> 8 * i);
    }
    return bytes;
}

std::uint32_t low_mask(unsigned bits) {
    return 0xFFFFFFFFu >> (32 - bits);
}

std::optional<Problem> check_groups(std::size_t count, unsigned bits) {
    if (bits < 1 || bits > 8) return setting_problem("a byte cannot hold a group of that size", "1 to 8 bits");
    if (count > 64 / bits) {
        return setting_problem("a number cannot be spread over " + std::to_string(count) + " bytes of " +
                                   std::to_string(bits) + " bits each",
                               "at most 64 bits in all");
    }
    return std::nullopt;
}

std::optional<Problem> check_sample(unsigned bits) {
    if (bits >= 1 && bits <= widest_sample) return std::nullopt;
    return setting_problem("there are no sample words of " + std::to_string(bits) + " bits", "1 to 28 bits");
}

}  // namespace

float decode_binary32(std::span<const std::uint8_t, 4> bytes, ByteOrder order) {
    return std::bit_cast<float>(joined<std::uint32_t>(bytes, order));
}

std::array<std::uint8_t, 4> encode_binary32(float value, ByteOrder order) {
    return taken_apart(std::bit_cast<std::uint32_t>(value), order);
}

double decode_binary64(std::span<const std::uint8_t, 8> bytes, ByteOrder order) {
    return std::bit_cast<double>(joined<std::uint64_t>(bytes, order));
}

std::array<std::uint8_t, 8> encode_binary64(double value, ByteOrder order) {
    return taken_apart(std::bit_cast<std::uint64_t>(value), order);
}

SignedRange signed_range(SignCoding coding, unsigned bits) {
    const std::int64_t half = std::int64_t{1} << (bits - 1);
    return {coding == SignCoding::sign_magnitude ? 1 - half : -half, half - 1};
}

std::int64_t decode_signed(SignCoding coding, std::uint32_t raw, unsigned bits) {
    const std::int64_t half = std::int64_t{1} << (bits - 1);
    const std::int64_t field = raw & low_mask(bits);
    switch (coding) {
        case SignCoding::offset_binary: return field - half;
        case SignCoding::sign_magnitude: return field < half ? field : half - field;
        default: return field < half ? field : field - 2 * half;
    }
}

std::optional<std::uint32_t> encode_signed(SignCoding coding, std::int64_t value, unsigned bits) {
    const SignedRange range = signed_range(coding, bits);
    if (value < range.low || value > range.high) return std::nullopt;
    const std::int64_t half = std::int64_t{1} << (bits - 1);
    std::int64_t field = value;
    if (coding == SignCoding::offset_binary) {
        field = value + half;
    } else if (value < 0) {
        field = coding == SignCoding::sign_magnitude ? half - value : value + 2 * half;
    }
    return static_cast<std::uint32_t>(field);
}

Result<std::uint64_t> join_groups(ByteView groups, unsigned bits, GroupOrder order) {
    if (auto problem = check_groups(groups.size(), bits)) return *std::move(problem);
    const std::uint32_t limit = low_mask(bits);
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < groups.size(); ++i) {
        if (groups[i] > limit) {
            return byte_problem(i, 1,
                                "byte " + hex_byte(groups[i]) + " has more than " + std::to_string(bits) + " bits",
                                "00 to " + hex_byte(static_cast<std::uint8_t>(limit)));
        }
        const std::size_t rank = order == GroupOrder::low_first ? i : groups.size() - 1 - i;
        value |= std::uint64_t{groups[i]} << rank * bits;
    }
    return value;
}

Result<Bytes> split_groups(std::uint64_t value, std::size_t count, unsigned bits, GroupOrder order) {
    if (auto problem = check_groups(count, bits)) return *std::move(problem);
    const auto room = static_cast<unsigned>(count * bits);
    if (room < 64 && value >> room != 0) {
        return setting_problem("the number " + std::to_string(value) + " does not fit its bytes",
                               "at most " + std::to_string(room) + " bits");
    }
    Bytes out;
    for (std::size_t i = 0; i < count; ++i) {
        out.push_back(static_cast<std::uint8_t>(value >> i * bits & low_mask(bits)));
    }
    if (order == GroupOrder::high_first) std::reverse(out.begin(), out.end());
    return out;
}

std::uint32_t bit_shift(std::uint32_t value, unsigned from, unsigned to) {
    return (value & low_mask(from)) << (to - from);
}

std::uint32_t bit_repeat(std::uint32_t value, unsigned from, unsigned to) {
    std::uint32_t out = bit_shift(value, from, to);
    for (unsigned filled = from; filled < to; filled *= 2) out |= out >> filled;
    return out;
}

std::size_t sample_word_size(unsigned bits) {
    return (bits + 6) / 7;
}

Result<Bytes> encode_sample_word(std::uint32_t value, unsigned bits) {
    if (auto problem = check_sample(bits)) return *std::move(problem);
    if (value > low_mask(bits)) {
        return setting_problem("the sample " + std::to_string(value) + " does not fit its word",
                               "at most " + std::to_string(bits) + " bits");
    }
    const std::size_t size = sample_word_size(bits);
    const auto room = static_cast<unsigned>(size * 7);
    return split_groups(bit_shift(value, bits, room), size, 7, GroupOrder::high_first);
}

Result<std::uint32_t> decode_sample_word(ByteView bytes, unsigned bits) {
    if (auto problem = check_sample(bits)) return *std::move(problem);
    const std::size_t size = sample_word_size(bits);
    if (bytes.size() != size) {
        return byte_problem(0, bytes.size(), "the sample word has the wrong length", std::to_string(size) + " bytes");
    }
    const Result<std::uint64_t> joined_word = join_groups(bytes, 7, GroupOrder::high_first);
    if (!joined_word) return joined_word.problems();
    return static_cast<std::uint32_t>(joined_word.value() >> (size * 7 - bits));
}

}  // namespace downfit::midi
