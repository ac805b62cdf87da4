// The reversible packings, row by row.
//
// Sources: [M1] is the MIDI 1.0 Detailed Specification 4.2.1; [PE] the Common Rules for MIDI-CI Property Exchange.

#include "midi/packing.h"

#include <algorithm>
#include <string>
#include <string_view>

#include "midi/checks.h"
#include "midi/sysex.h"
#include "problem_text.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::midi;
using testing::ascii;
using testing::from_hex;
using testing::problem_text;
using testing::to_hex;
using Order = SevenBit::Order;

namespace {

struct PackingRow {
    Packing packing;
    const char* plain;
    const char* packed;
    Origins origins;
};

struct BadRow {
    Packing packing;
    const char* packed;
    const char* problem;
};

/// Packs, unpacks and compares, origins included where the row has any.
void check(const PackingRow& row) {
    CAPTURE(row.packing.index(), row.plain);
    const auto packed = encode(row.packing, from_hex(row.plain));
    REQUIRE(packed.ok());
    CHECK(to_hex(packed.value()) == row.packed);
    Origins origins{99};
    const auto plain = decode(row.packing, packed.value(), &origins);
    REQUIRE(plain.ok());
    CHECK(to_hex(plain.value()) == row.plain);
    CHECK(origins.size() == plain.value().size());
    if (!row.origins.empty()) CHECK(origins == row.origins);
    CHECK(canonical(row.packing, packed.value()));
}

const SevenBit first_high{Order::first_high};
const SevenBit first_low{Order::first_low};
const SevenBit aux_last{Order::aux_last};
const SevenBit bit_stream{Order::stream};
const Nibbles high_nibble_first{Nibbles::Order::high_first};
const Nibbles low_nibble_first{Nibbles::Order::low_first};

}  // namespace

TEST_CASE("seven in eight", "[midi][packing]") {
    const PackingRow row = GENERATE(values<PackingRow>({
        // [M1] p. 43, [PE] 6.1.7; worked by calculation
        {first_high, "80 01 FF 00 7F 81 C3", "53 00 01 7F 00 7F 01 43", {1, 2, 3, 4, 5, 6, 7}},
        // common practice, no source
        {first_low, "80 01 FF 00 7F 81 C3", "65 00 01 7F 00 7F 01 43", {1, 2, 3, 4, 5, 6, 7}},
        {aux_last, "80 01 FF 00 7F 81 C3", "00 01 7F 00 7F 01 43 53", {0, 1, 2, 3, 4, 5, 6}},
        {bit_stream, "80 01 FF 00 7F 81 C3", "40 00 3F 70 03 7E 03 43", {0, 1, 2, 3, 5, 6, 7}},
        // the short group: [M1] p. 43 and calculation; first_low common practice, no source
        {first_high, "80 00 80", "50 00 00 00", {1, 2, 3}},
        {first_low, "80 00 80", "05 00 00 00", {1, 2, 3}},
        // by calculation
        {aux_last, "80 00 80", "00 00 00 50", {0, 1, 2}},
        {bit_stream, "80 00 80", "40 00 10 00", {0, 1, 2}},
        // no use for telling the orders apart: both start with 55. By calculation
        {first_high, "81 02 83 04 85 06 87", "55 01 02 03 04 05 06 07", {}},
        {first_low, "81 02 83 04 85 06 87", "55 01 02 03 04 05 06 07", {}},
        // [M1] pp. 42, 43 and calculation: the data of a File Dump packet
        {first_high, "80 01 FF 00 7F 81 C3 90 3C C0", "53 00 01 7F 00 7F 01 43 50 10 3C 40", {}},
        {aux_last, "FF 80 00 00 00 00 00 FF", "7F 00 00 00 00 00 00 60 7F 40", {0, 1, 2, 3, 4, 5, 6, 8}},
        {first_high, "", "", {}},
        {bit_stream, "", "", {}},
    }));
    check(row);
}

TEST_CASE("seven in eight: sizes", "[midi][packing]") {
    // [M1] p. 43: 64 stored bytes are sent as 74, 112 as 128. The last group of 64 is a single byte.
    for (const Order order : {Order::first_high, Order::first_low, Order::aux_last, Order::stream}) {
        CHECK(encode(SevenBit{order}, Bytes(64, 0xA5)).value().size() == 74);
        CHECK(encode(SevenBit{order}, Bytes(112, 0xA5)).value().size() == 128);
        for (std::size_t n = 0; n < 30; ++n) {
            const auto packed = encode(SevenBit{order}, Bytes(n, 0xA5));
            CHECK(packed.value().size() == n + (n + 6) / 7);
            CHECK(decode(SevenBit{order}, packed.value()).value() == Bytes(n, 0xA5));
        }
    }
}

TEST_CASE("a whole File Dump packet", "[midi][packing]") {
    // [M1] pp. 42, 43 and calculation. Device 01, packet 00, count 0B (bytes sent less one), check xor-7 after F0
    Bytes content = from_hex("7E 01 07 02 00 0B");
    const Bytes packed = encode(first_high, from_hex("80 01 FF 00 7F 81 C3 90 3C C0")).value();
    content.insert(content.end(), packed.begin(), packed.end());
    content.push_back(static_cast<std::uint8_t>(compute(Check::xor_7, content)));
    CHECK(to_hex(frame(content).value()) == "F0 7E 01 07 02 00 0B 53 00 01 7F 00 7F 01 43 50 10 3C 40 5D F7");
}

TEST_CASE("nibbles, arrays, masks and runs", "[midi][packing]") {
    const PackingRow row = GENERATE(values<PackingRow>({
        // common practice, no source
        {high_nibble_first, "A5", "0A 05", {0}},
        {low_nibble_first, "A5", "05 0A", {0}},
        // by calculation from here on
        {high_nibble_first, "A5 0F", "0A 05 00 0F", {0, 2}},
        {low_nibble_first, "A5 0F", "05 0A 0F 00", {0, 2}},
        {SplitArrays{7}, "80 7F FF", "01 00 01 00 7F 7F", {3, 4, 5}},
        {SplitArrays{4}, "A5 0F 30", "0A 00 03 05 0F 00", {0, 1, 2}},
        {SplitArrays{1}, "FF 02", "7F 01 01 00", {0, 1}},
        {FixedKey{{0x55, 0x0F}}, "00 00 01 F0", "55 0F 54 FF", {0, 1, 2, 3}},
        {RollingKey{0x12}, "00 01 FF", "12 13 EC", {0, 1, 2}},
        // the example of the format's own description
        {RunLength{0xFF, 0x7F}, "01 02 02 02 02 FF", "01 FF 04 02 FF 01 FF", {0, 3, 3, 3, 3, 6}},
        {RunLength{0x7F, 0x7F}, "05 05 05", "05 05 05", {0, 1, 2}},
        {RunLength{0x7F, 0x7F}, "7F 7F", "7F 02 7F", {2, 2}},
        {RunLength{0x7F, 5}, "00 00 00 00 00 00 00", "7F 05 00 00 00", {2, 2, 2, 2, 2, 3, 4}},
        {RunLength{0x7F, 0x7F}, "", "", {}},
    }));
    check(row);
}

TEST_CASE("bytes that cannot be unpacked", "[midi][packing]") {
    const BadRow row = GENERATE(values<BadRow>({
        {first_high, "00 01 80", "2+1: byte 80 has its top bit set [00 to 7F]"},
        {bit_stream, "00 FF", "1+1: byte FF has its top bit set [00 to 7F]"},
        {first_high, "00",
         "0+1: a single byte is left after the last whole group of eight [nothing, or two to eight bytes]"},
        {aux_last, "00 00 00 00 00 00 00 00 11",
         "8+1: a single byte is left after the last whole group of eight [nothing, or two to eight bytes]"},
        {bit_stream, "11",
         "0+1: a single byte is left after the last whole group of eight [nothing, or two to eight bytes]"},
        {high_nibble_first, "0A 10", "1+1: byte 10 is no nibble [00 to 0F]"},
        {low_nibble_first, "0A 0B 0C", "2+1: the last nibble has no partner [an even number of nibbles]"},
        {SplitArrays{7}, "01 00 7F", "2+1: the two arrays have different lengths [an even number of bytes]"},
        {SplitArrays{7}, "01 02 00 00", "1+1: byte 02 is no high part [00 to 01]"},
        {SplitArrays{4}, "0F 0F 00 10", "3+1: byte 10 is no low part [00 to 0F]"},
        {SplitArrays{8}, "00 00", "a byte cannot be split above its lowest 8 bits [1 to 7 low bits]"},
        {FixedKey{}, "00", "the key is empty [at least one byte]"},
        {RunLength{}, "01 7F", "1+1: the input ends within a run [a count and a value]"},
        {RunLength{}, "01 7F 03", "1+2: the input ends within a run [a value]"},
        {RunLength{}, "7F 00 01", "1+1: byte 00 is no count [01 to 7F]"},
        {RunLength{0x7F, 4}, "7F 05 01", "1+1: byte 05 is no count [01 to 04]"},
        {RunLength{0x7F, 0}, "00", "no run can be counted [a largest count of 01 to FF]"},
        {RunLength{0x7F, 0x7F, 9}, "01 02 7F 08 00", "2+3: the runs hold too many bytes [at most 9 bytes]"},
        {RunLength{0x7F, 0x7F, 2}, "01 02 03", "2+1: the runs hold too many bytes [at most 2 bytes]"},
    }));
    CAPTURE(row.packing.index(), row.packed);
    Origins origins{1, 2, 3};
    CHECK(problem_text(decode(row.packing, from_hex(row.packed), &origins)) == row.problem);
    CHECK_FALSE(canonical(row.packing, from_hex(row.packed)));
}

TEST_CASE("runs up to the limit are unpacked and packed, longer ones not", "[midi][packing]") {
    const RunLength packing{0x7F, 0x7F, 10};
    CHECK(decode(packing, from_hex("01 02 7F 08 00")).value() == from_hex("01 02 00 00 00 00 00 00 00 00"));
    CHECK(encode(packing, Bytes(10, 0)).value() == from_hex("7F 0A 00"));
    CHECK(problem_text(encode(packing, Bytes(11, 0))) == "10+1: there are too many bytes to pack [at most 10 bytes]");
}

TEST_CASE("settings that cannot pack", "[midi][packing]") {
    CHECK_FALSE(encode(SplitArrays{0}, from_hex("01")).ok());
    CHECK_FALSE(encode(FixedKey{}, from_hex("01")).ok());
    CHECK_FALSE(encode(RunLength{0x7F, 0}, from_hex("01")).ok());
    CHECK(problem_text(encode(Deflate{Deflate::Wrapper::zlib, 10, 1}, Bytes{})) ==
          "there is no deflate level 10 [0 to 9]");
    CHECK(problem_text(encode(Deflate{Deflate::Wrapper::zlib, 9, 0xFFFFFFFF}, Bytes{})) ==
          "the size limit is too large [at most 1073741824 bytes]");
}

TEST_CASE("unpacked, but not the way it would be packed", "[midi][packing]") {
    // Each of these unpacks; packing again clears the unused bits, or cuts the runs anew.
    CHECK(decode(first_high, from_hex("58 00 00 00")).value() == from_hex("80 00 80"));
    CHECK_FALSE(canonical(first_high, from_hex("58 00 00 00")));
    CHECK(canonical(first_high, from_hex("50 00 00 00")));
    CHECK_FALSE(canonical(first_low, from_hex("0D 00 00 00")));
    CHECK_FALSE(canonical(aux_last, from_hex("00 00 00 58")));
    CHECK(decode(bit_stream, from_hex("40 00 10 07")).value() == from_hex("80 00 80"));
    CHECK_FALSE(canonical(bit_stream, from_hex("40 00 10 07")));
    CHECK(decode(RunLength{}, from_hex("7F 02 05 05")).value() == from_hex("05 05 05"));
    CHECK_FALSE(canonical(RunLength{}, from_hex("7F 02 05 05")));
}

TEST_CASE("deflate in its three wrappers", "[midi][packing]") {
    const Bytes plain = ascii("the same words, the same words, the same words again");
    struct WrapperRow {
        Deflate::Wrapper wrapper;
        std::size_t header;
    };
    // RFC 1950: first byte 78, no header in RFC 1951, RFC 1952: first bytes 1F 8B
    const WrapperRow row = GENERATE(
        values<WrapperRow>({{Deflate::Wrapper::raw, 0}, {Deflate::Wrapper::zlib, 2}, {Deflate::Wrapper::gzip, 10}}));
    const Deflate packing{row.wrapper, 9, 1000};
    const Bytes packed = encode(packing, plain).value();
    if (row.wrapper == Deflate::Wrapper::zlib) CHECK(packed[0] == 0x78);
    if (row.wrapper == Deflate::Wrapper::gzip) CHECK((packed[0] == 0x1F && packed[1] == 0x8B));
    Origins origins;
    CHECK(decode(packing, packed, &origins).value() == plain);
    CHECK(decode(packing, packed).value() == plain);
    REQUIRE(origins.size() == plain.size());
    CHECK(origins.front() > row.header);
    CHECK(std::is_sorted(origins.begin(), origins.end()));
    CHECK(canonical(packing, packed));
    CHECK_FALSE(canonical(Deflate{row.wrapper, 0, 1000}, packed));

    Bytes longer = packed;
    longer.push_back(0);
    CHECK(problem_text(decode(packing, longer)) ==
          std::to_string(packed.size()) + "+1: bytes follow the end of the deflated data [nothing more]");
    for (std::size_t size = 0; size < packed.size(); ++size) {
        CHECK(problem_text(decode(packing, ByteView(packed).first(size))) ==
              std::to_string(size) + "+0: the deflated data ends too early [a whole deflate stream]");
    }
}

TEST_CASE("deflated data has a size limit", "[midi][packing]") {
    const Bytes packed = encode(Deflate{}, Bytes(1'000'000, 0)).value();
    CHECK(packed.size() < 2000);
    CHECK(decode(Deflate{Deflate::Wrapper::zlib, 9, 1'000'000}, packed).ok());
    const auto refused = decode(Deflate{Deflate::Wrapper::zlib, 9, 999'999}, packed);
    CHECK(problem_text(refused).find("the deflated data holds too many bytes [at most 999999 bytes]") !=
          std::string::npos);
    CHECK_FALSE(encode(Deflate{Deflate::Wrapper::zlib, 9, 3}, Bytes(4, 0)).ok());
}

TEST_CASE("broken deflated data", "[midi][packing]") {
    // RFC 1951: block type 3 does not exist. RFC 1950: a wrong check, a preset dictionary (bit 5 of the second byte)
    const std::string no_block = problem_text(decode(Deflate{Deflate::Wrapper::raw, 9, 10}, from_hex("07 00 00")));
    CHECK(no_block.find("0+1: the deflated data is broken") == 0);
    const Bytes with_dictionary = from_hex("78 BB 00 00 00 01 00");
    CHECK(problem_text(decode(Deflate{Deflate::Wrapper::zlib, 9, 10}, with_dictionary))
              .find("the deflated data needs a preset dictionary") != std::string::npos);
    Bytes packed = encode(Deflate{}, ascii("abc")).value();
    packed.back() ^= 1;
    const std::string problem = problem_text(decode(Deflate{}, packed));
    CHECK(problem.find(std::to_string(packed.size() - 1) + "+1: the deflated data is broken") == 0);
}
