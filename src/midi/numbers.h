// Codings of numbers in bytes: floating point, signed fields, groups of bits, widening, sample words.
//
// Pure arithmetic. Which bytes hold a number is the layout's business, and what it means is the parameter's.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "base/bytes.h"
#include "base/result.h"

namespace downfit::midi {

/// Which byte comes first.
enum class ByteOrder { big_endian, little_endian };

/// IEEE 754 binary32 in four bytes. Every pattern is a number, an infinity or a NaN; its bits are kept.
[[nodiscard]] float decode_binary32(std::span<const std::uint8_t, 4> bytes, ByteOrder order);
[[nodiscard]] std::array<std::uint8_t, 4> encode_binary32(float value, ByteOrder order);

/// IEEE 754 binary64 in eight bytes; as above.
[[nodiscard]] double decode_binary64(std::span<const std::uint8_t, 8> bytes, ByteOrder order);
[[nodiscard]] std::array<std::uint8_t, 8> encode_binary64(double value, ByteOrder order);

/// How a field of n bits holds a signed number.
enum class SignCoding {
    twos_complement,  ///< -2^(n-1) to 2^(n-1) - 1
    offset_binary,    ///< the same range, held as value + 2^(n-1)
    sign_magnitude,   ///< -(2^(n-1) - 1) to 2^(n-1) - 1; top bit set for negative, and -0 reads as 0
};

/// The least and the greatest value a field can hold.
struct SignedRange {
    std::int64_t low = 0;
    std::int64_t high = 0;

    bool operator==(const SignedRange&) const = default;
};

/// The range of a field of `bits` (1 to 32).
[[nodiscard]] SignedRange signed_range(SignCoding coding, unsigned bits);

/// The value of a field of `bits` (1 to 32). Bits of `raw` above the field are not looked at.
[[nodiscard]] std::int64_t decode_signed(SignCoding coding, std::uint32_t raw, unsigned bits);

/// The field that holds `value`, bits above it 0; nothing if `value` is outside signed_range.
[[nodiscard]] std::optional<std::uint32_t> encode_signed(SignCoding coding, std::int64_t value, unsigned bits);

/// Which group of bits comes first.
enum class GroupOrder { high_first, low_first };

/// The number whose bits are spread over `groups`, `bits` (1 to 8) in each byte: 7 and two bytes for the common
/// 14-bit number, 7 and five bytes for 32 bits, 4 for nibbles. Five groups of seven hold 35 bits: whether the
/// result fits its field is for the caller to see.
/// Fails: a byte with bits above its group (place: its index); `bits` out of range or more than 64 in all.
[[nodiscard]] Result<std::uint64_t> join_groups(ByteView groups, unsigned bits, GroupOrder order);

/// `value` spread over `count` bytes of `bits` each; undone by join_groups.
/// Fails: `value` has more bits than that; `bits` out of range or more than 64 in all.
[[nodiscard]] Result<Bytes> split_groups(std::uint64_t value, std::size_t count, unsigned bits, GroupOrder order);

/// A number of `from` bits made one of `to` bits (1 <= from <= to <= 32) by adding low bits of 0: the greatest
/// value does not reach the greatest (127 of 7 bits gives 16256 of 14).
[[nodiscard]] std::uint32_t bit_shift(std::uint32_t value, unsigned from, unsigned to);

/// The same by repeating the bits from the top: 0 stays 0 and the greatest reaches the greatest (127 gives
/// 16383). From 7 bits to 14 every step is 129.
[[nodiscard]] std::uint32_t bit_repeat(std::uint32_t value, unsigned from, unsigned to);

/// How many bytes of 00 to 7F a sample word of `bits` (1 to 28) takes.
[[nodiscard]] std::size_t sample_word_size(unsigned bits);

/// A sample word as the Sample Dump Standard sends it: left-justified in as many seven-bit bytes as it needs,
/// highest first, unused low bits 0 (MIDI 1.0 Detailed Specification 4.2.1, p. 39; there 8 to 28 bits).
/// Fails: `bits` is not 1 to 28, or `value` has more bits.
[[nodiscard]] Result<Bytes> encode_sample_word(std::uint32_t value, unsigned bits);

/// The word back; unused low bits are not looked at. Fails: `bits` is not 1 to 28, another number of bytes than
/// sample_word_size, a byte above 7F (place: its index).
[[nodiscard]] Result<std::uint32_t> decode_sample_word(ByteView bytes, unsigned bits);

}  // namespace downfit::midi
