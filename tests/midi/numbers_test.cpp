// Codings of numbers, row by row.
//
// Sources: [M1] is the MIDI 1.0 Detailed Specification 4.2.1.

#include "midi/numbers.h"

#include <bit>
#include <cmath>
#include <limits>

#include "problem_text.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::midi;
using testing::Approx;
using testing::from_hex;
using testing::problem_text;
using testing::to_hex;

namespace {

constexpr auto big = ByteOrder::big_endian;
constexpr auto little = ByteOrder::little_endian;
constexpr auto twos = SignCoding::twos_complement;
constexpr auto offset = SignCoding::offset_binary;
constexpr auto magnitude = SignCoding::sign_magnitude;
constexpr auto high_first = GroupOrder::high_first;
constexpr auto low_first = GroupOrder::low_first;

}  // namespace

TEST_CASE("binary32", "[midi][numbers]") {
    struct Row {
        float value;
        const char* bytes;
    };
    // IEEE 754-2019 binary32, from memory
    const Row row = GENERATE(values<Row>({
        {1.0f, "3F 80 00 00"},
        {-0.0f, "80 00 00 00"},
        {0.1f, "3D CC CC CD"},
        {0.15625f, "3E 20 00 00"},
        {-118.625f, "C2 ED 40 00"},
        {1.0f / 3.0f, "3E AA AA AB"},
        {440.0f, "43 DC 00 00"},
        {3.14159265358979f, "40 49 0F DB"},
        {20000.0f, "46 9C 40 00"},
        {std::numeric_limits<float>::infinity(), "7F 80 00 00"},
        {std::numeric_limits<float>::min(), "00 80 00 00"},
        {std::numeric_limits<float>::denorm_min(), "00 00 00 01"},
        {std::numeric_limits<float>::max(), "7F 7F FF FF"},
        {static_cast<float>(16777217.0), "4B 80 00 00"},  // the first integer lost: becomes 16777216
    }));
    CAPTURE(row.bytes);
    CHECK(to_hex(encode_binary32(row.value, big)) == row.bytes);
    const Bytes bytes = from_hex(row.bytes);
    CHECK(std::bit_cast<std::uint32_t>(decode_binary32(ByteView(bytes).first<4>(), big)) ==
          std::bit_cast<std::uint32_t>(row.value));
    const Bytes reversed(bytes.rbegin(), bytes.rend());
    CHECK(to_hex(encode_binary32(row.value, little)) == to_hex(reversed));
    CHECK(std::bit_cast<std::uint32_t>(decode_binary32(ByteView(reversed).first<4>(), little)) ==
          std::bit_cast<std::uint32_t>(row.value));
}

TEST_CASE("binary32 that is no number", "[midi][numbers]") {
    const Bytes quiet = from_hex("7F C0 00 00");  // IEEE 754-2019, from memory
    const float value = decode_binary32(ByteView(quiet).first<4>(), big);
    CHECK(std::isnan(value));
    CHECK(to_hex(encode_binary32(value, big)) == "7F C0 00 00");
}

TEST_CASE("binary64", "[midi][numbers]") {
    struct Row {
        double value;
        const char* bytes;
    };
    // IEEE 754-2019 binary64, from memory
    const Row row = GENERATE(values<Row>({
        {1.0, "3F F0 00 00 00 00 00 00"},
        {-0.0, "80 00 00 00 00 00 00 00"},
        {0.1, "3F B9 99 99 99 99 99 9A"},
        {-118.625, "C0 5D A8 00 00 00 00 00"},
        {16777217.0, "41 70 00 00 10 00 00 00"},
        {std::numeric_limits<double>::max(), "7F EF FF FF FF FF FF FF"},
    }));
    CHECK(to_hex(encode_binary64(row.value, big)) == row.bytes);
    const Bytes bytes = from_hex(row.bytes);
    CHECK(std::bit_cast<std::uint64_t>(decode_binary64(ByteView(bytes).first<8>(), big)) ==
          std::bit_cast<std::uint64_t>(row.value));
    const Bytes reversed(bytes.rbegin(), bytes.rend());
    CHECK(to_hex(encode_binary64(row.value, little)) == to_hex(reversed));
    CHECK(std::bit_cast<std::uint64_t>(decode_binary64(ByteView(reversed).first<8>(), little)) ==
          std::bit_cast<std::uint64_t>(row.value));
}

TEST_CASE("signed fields", "[midi][numbers]") {
    struct Row {
        SignCoding coding;
        unsigned bits;
        std::int64_t value;
        std::uint32_t raw;
    };
    const Row row = GENERATE(values<Row>({
        // -1 and the minimum; from memory
        {twos, 7, -1, 0x7F},
        {twos, 7, -64, 0x40},
        {offset, 7, -1, 0x3F},
        {offset, 7, -64, 0x00},
        {twos, 8, -1, 0xFF},
        {twos, 8, -128, 0x80},
        {offset, 8, -1, 0x7F},
        {offset, 8, -128, 0x00},
        {twos, 14, -1, 0x3FFF},
        {twos, 14, -8192, 0x2000},
        {offset, 14, -1, 0x1FFF},
        {offset, 14, -8192, 0x0000},
        // common practice, no source
        {twos, 7, -12, 0x74},
        {offset, 7, -12, 0x34},
        {magnitude, 7, -12, 0x4C},
        // by calculation: the ends of the widest and the narrowest fields
        {twos, 32, -2147483648LL, 0x80000000},
        {twos, 32, 2147483647, 0x7FFFFFFF},
        {offset, 32, 2147483647, 0xFFFFFFFF},
        {magnitude, 32, -2147483647, 0xFFFFFFFF},
        {magnitude, 7, 63, 0x3F},
        {twos, 1, -1, 1},
        {twos, 1, 0, 0},
        {magnitude, 1, 0, 0},
    }));
    CAPTURE(row.bits, row.value);
    CHECK(encode_signed(row.coding, row.value, row.bits) == row.raw);
    CHECK(decode_signed(row.coding, row.raw, row.bits) == row.value);
}

TEST_CASE("signed fields have ends", "[midi][numbers]") {
    CHECK(signed_range(twos, 7) == SignedRange{-64, 63});
    CHECK(signed_range(offset, 7) == SignedRange{-64, 63});
    CHECK(signed_range(magnitude, 7) == SignedRange{-63, 63});
    CHECK_FALSE(encode_signed(twos, 64, 7).has_value());
    CHECK_FALSE(encode_signed(twos, -65, 7).has_value());
    CHECK_FALSE(encode_signed(magnitude, -64, 7).has_value());
    CHECK(decode_signed(magnitude, 0x40, 7) == 0);     // -0
    CHECK(decode_signed(twos, 0xFFFFFFC0, 7) == -64);  // bits above the field
    for (const SignCoding coding : {twos, offset, magnitude}) {
        for (std::uint32_t raw = 0; raw < 128; ++raw) {
            if (coding == magnitude && raw == 0x40) continue;
            CHECK(encode_signed(coding, decode_signed(coding, raw, 7), 7) == raw);
        }
    }
}

TEST_CASE("groups of bits", "[midi][numbers]") {
    struct Row {
        std::uint64_t value;
        unsigned bits;
        GroupOrder order;
        const char* bytes;
    };
    const Row row = GENERATE(values<Row>({
        // 1.0 as binary32: common practice and calculation
        {0x3F800000, 7, high_first, "03 7C 00 00 00"},
        {0x3F800000, 7, low_first, "00 00 00 7C 03"},
        {0x3F800000, 4, high_first, "03 0F 08 00 00 00 00 00"},
        // the data bytes of pitch bend: 14 bits, [M1] p. 9; byte order and centre from memory
        {0x0000, 7, low_first, "00 00"},
        {0x1FFF, 7, low_first, "7F 3F"},
        {0x2000, 7, low_first, "00 40"},
        {0x2001, 7, low_first, "01 40"},
        {0x3FFF, 7, low_first, "7F 7F"},
        {0x2001, 7, high_first, "40 01"},
        // sample periods in nanoseconds at 44.1 kHz and 48 kHz: [M1] p. 37 and calculation
        {22676, 7, low_first, "14 31 01"},
        {20833, 7, low_first, "61 22 01"},
        // the length of a File Dump, four times seven bits: [M1] p. 42
        {10, 7, low_first, "0A 00 00 00"},
        // by calculation
        {0xFFFFFFFF, 7, high_first, "0F 7F 7F 7F 7F"},
        {0x0123456789ABCDEF, 8, high_first, "01 23 45 67 89 AB CD EF"},
        {5, 1, high_first, "01 00 01"},
        {0, 7, high_first, ""},
    }));
    CAPTURE(row.bytes);
    const Bytes bytes = from_hex(row.bytes);
    CHECK(join_groups(bytes, row.bits, row.order).value() == row.value);
    CHECK(to_hex(split_groups(row.value, bytes.size(), row.bits, row.order).value()) == row.bytes);
}

TEST_CASE("pitch bend is offset binary in two groups", "[midi][numbers]") {
    struct Row {
        std::int64_t bend;
        const char* bytes;
        double cents;
    };
    // bytes as above; cents of a range of 200 by calculation, divided by 8192: common practice, no source
    const Row row = GENERATE(values<Row>({
        {-8192, "00 00", -200.0},
        {-8191, "01 00", -199.9756},
        {-1, "7F 3F", -0.0244},
        {0, "00 40", 0.0},
        {1, "01 40", 0.0244},
        {8191, "7F 7F", 199.9756},
    }));
    const auto raw = encode_signed(offset, row.bend, 14);
    REQUIRE(raw.has_value());
    CHECK(to_hex(split_groups(*raw, 2, 7, low_first).value()) == row.bytes);
    const auto joined = join_groups(from_hex(row.bytes), 7, low_first);
    const auto bend = decode_signed(offset, static_cast<std::uint32_t>(joined.value()), 14);
    CHECK(bend == row.bend);
    CHECK(static_cast<double>(bend) * 200.0 / 8192.0 == Approx(row.cents).margin(0.00005));
}

TEST_CASE("groups that do not fit", "[midi][numbers]") {
    CHECK(problem_text(join_groups(from_hex("01 80"), 7, high_first)) ==
          "1+1: byte 80 has more than 7 bits [00 to 7F]");
    CHECK(problem_text(join_groups(from_hex("10 00"), 4, low_first)) == "0+1: byte 10 has more than 4 bits [00 to 0F]");
    for (const unsigned bits : {0u, 9u}) {
        CHECK(problem_text(join_groups(from_hex("00"), bits, low_first)) ==
              "a byte cannot hold a group of that size [1 to 8 bits]");
    }
    CHECK(problem_text(join_groups(Bytes(10, 0), 7, low_first)) ==
          "a number cannot be spread over 10 bytes of 7 bits each [at most 64 bits in all]");
    CHECK(problem_text(split_groups(0x4000, 2, 7, low_first)) ==
          "the number 16384 does not fit its bytes [at most 14 bits]");
}

TEST_CASE("seven bits made fourteen", "[midi][numbers]") {
    // common practice, no source
    CHECK(bit_shift(127, 7, 14) == 16256);
    CHECK(bit_repeat(127, 7, 14) == 16383);
    // by calculation
    CHECK(bit_repeat(0, 7, 14) == 0);
    CHECK(bit_repeat(64, 7, 14) == 8256);
    CHECK(bit_repeat(127, 7, 7) == 127);
    CHECK(bit_repeat(127, 7, 16) == 65535);
    CHECK(bit_repeat(1, 1, 32) == 0xFFFFFFFF);
    CHECK(bit_repeat(0xA, 4, 10) == 0b1010101010);
    CHECK(bit_shift(0xFF, 7, 8) == 0xFE);
    for (std::uint32_t v = 0; v < 128; ++v) CHECK(bit_repeat(v, 7, 14) == v * 129);
}

TEST_CASE("sample words", "[midi][numbers]") {
    struct Row {
        std::uint32_t value;
        unsigned bits;
        const char* bytes;
    };
    const Row row = GENERATE(values<Row>({
        {0xFFF, 12, "7F 7C"},  // [M1] p. 39, its own example
        // [M1] p. 39 and calculation
        {0x800, 12, "40 00"},
        {0x8001, 16, "40 00 20"},
        // by calculation
        {0xFF, 8, "7F 40"},
        {0x3FFF, 14, "7F 7F"},
        {0xFFFFFFF, 28, "7F 7F 7F 7F"},
    }));
    CHECK(to_hex(encode_sample_word(row.value, row.bits).value()) == row.bytes);
    CHECK(decode_sample_word(from_hex(row.bytes), row.bits).value() == row.value);
}

TEST_CASE("sample words per packet of 120 bytes", "[midi][numbers]") {
    // [M1] p. 39: 8 to 14 bits 60 words, 15 to 21 bits 40, 22 to 28 bits 30
    for (unsigned bits = 8; bits <= 28; ++bits) {
        CHECK(120 / sample_word_size(bits) == (bits <= 14 ? 60u : bits <= 21 ? 40u : 30u));
    }
}

TEST_CASE("sample words that are none", "[midi][numbers]") {
    CHECK(decode_sample_word(from_hex("7F 7F"), 12).value() == 0xFFF);  // unused low bits set
    CHECK(problem_text(decode_sample_word(from_hex("7F"), 12)) ==
          "0+1: the sample word has the wrong length [2 bytes]");
    CHECK(problem_text(decode_sample_word(from_hex("7F 80"), 12)) == "1+1: byte 80 has more than 7 bits [00 to 7F]");
    CHECK(problem_text(decode_sample_word(from_hex("7F"), 29)) ==
          "there are no sample words of 29 bits [1 to 28 bits]");
    CHECK(problem_text(encode_sample_word(0, 0)) == "there are no sample words of 0 bits [1 to 28 bits]");
    CHECK(problem_text(encode_sample_word(0x1000, 12)) == "the sample 4096 does not fit its word [at most 12 bits]");
}
