// Check values against published ones.
//
// Sources: [M1] is the MIDI 1.0 Detailed Specification 4.2.1, [MTS] the MIDI Tuning specification (1999, with CA-020),
// [CRC] G. Cook's "Catalogue of parametrised CRC algorithms".

#include "midi/checks.h"

#include <initializer_list>
#include <numeric>
#include <set>
#include <string_view>

#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::midi;
using testing::ascii;
using testing::from_hex;

namespace {

Bytes joined(std::initializer_list<Bytes> parts) {
    Bytes out;
    for (const Bytes& part : parts) out.insert(out.end(), part.begin(), part.end());
    return out;
}

/// The 128 tuning words `k 00 00`.
Bytes equal_tuning() {
    Bytes out;
    for (int k = 0; k < 128; ++k) out.insert(out.end(), {static_cast<std::uint8_t>(k), 0, 0});
    return out;
}

const Bytes tuning_name = ascii("EQUAL 12        ");

}  // namespace

TEST_CASE("seven-bit sum checks", "[midi][checks]") {
    struct Row {
        const char* covered;
        std::uint32_t sum;
        std::uint32_t check;
    };
    // common practice, no source
    const Row row = GENERATE(values<Row>({
        {"00", 0, 0x00},
        {"01", 1, 0x7F},
        {"7F", 127, 0x01},
        {"40 00 7F 00", 191, 0x41},
        {"10 00 05 02", 23, 0x69},
        {"20 02 10 00 03 7F 7F", 307, 0x4D},
        {"40 40", 128, 0x00},  // never 80
        {"7F 7F 7F 7F", 508, 0x04},
        {"", 0, 0x00},
    }));
    CAPTURE(row.covered);
    CHECK(compute(Check::sum_7_complement, from_hex(row.covered)) == row.check);
    CHECK(compute(Check::sum_7, from_hex(row.covered)) == row.sum % 128);
    CHECK(compute(Check::sum_8, from_hex(row.covered)) == row.sum % 256);
    CHECK(compute(Check::sum_8_complement, from_hex(row.covered)) == (256 - row.sum % 256) % 256);
}

TEST_CASE("exclusive-or of a sample dump packet", "[midi][checks]") {
    // [M1] pp. 37, 39: 7E, device, 02, packet and 120 bytes. Values by calculation
    Bytes ramp(120, 0);
    for (std::size_t i = 0; i < ramp.size(); ++i) ramp[i] = static_cast<std::uint8_t>(i % 7);
    CHECK(compute(Check::xor_7, joined({from_hex("7E 00 02 00"), Bytes(120, 0)})) == 0x7C);
    const Bytes second = joined({from_hex("7E 00 02 03 01 02 04 08 10 20 40"), Bytes(113, 0)});
    CHECK(compute(Check::xor_7, second) == 0x00);
    CHECK(compute(Check::sum_7_complement, second) == 0x7E);  // the rule wrongly used
    const Bytes third = joined({from_hex("7E 10 02 7F"), ramp});
    CHECK(compute(Check::xor_7, third) == 0x14);
    CHECK(compute(Check::sum_7_complement, third) == 0x0C);  // the rule wrongly used
}

TEST_CASE("exclusive-or of tuning dumps", "[midi][checks]") {
    const Bytes notes = equal_tuning();
    // [MTS] p. 2 prints a rule without the 08; by calculation: everything, the printed rule, without 08 and 01.
    CHECK(compute(Check::xor_7, joined({from_hex("7E 7F 08 01 00"), tuning_name, notes})) == 0x67);
    CHECK(compute(Check::xor_7, joined({from_hex("7E 7F 01 00"), tuning_name, notes})) == 0x6F);
    CHECK(compute(Check::xor_7, joined({from_hex("7E 7F 00"), tuning_name, notes})) == 0x6E);
    // [MTS] CA-020: key-based dump, bank 1, program 0
    CHECK(compute(Check::xor_7, joined({from_hex("7E 7F 08 04 01 00"), tuning_name, notes})) == 0x63);
    // [MTS] CA-020 and calculation: scale and octave dump
    CHECK(compute(Check::xor_7, joined({from_hex("7E 7F 08 05 00 00"), tuning_name, Bytes(12, 0x40)})) == 0x63);
}

TEST_CASE("exclusive-or keeps seven or eight bits", "[midi][checks]") {
    CHECK(compute(Check::xor_7, from_hex("81 02")) == 0x03);
    CHECK(compute(Check::xor_8, from_hex("81 02")) == 0x83);
}

TEST_CASE("catalogued checks of 123456789", "[midi][checks]") {
    struct Row {
        const char* name;
        std::uint32_t check;     // of the ASCII digits 1 to 9
        std::uint32_t of_bytes;  // of the bytes 00 to FF in order; by calculation with an independent program
        std::uint32_t of_none;   // of no bytes; likewise
    };
    const Row row = GENERATE(values<Row>({
        {"crc-16/arc", 0xBB3D, 0xBAD3, 0x0000},  // [CRC]
        // [CRC], from memory, down to the last CRC
        {"crc-8/smbus", 0xF4, 0x14, 0x00},
        {"crc-16/ccitt-false", 0x29B1, 0x3FBD, 0xFFFF},
        {"crc-16/xmodem", 0x31C3, 0x7E55, 0x0000},
        {"crc-16/kermit", 0x2189, 0xD841, 0x0000},
        {"crc-16/x-25", 0x906E, 0x303C, 0x0000},
        {"crc-16/modbus", 0x4B37, 0xDE6C, 0xFFFF},
        {"crc-16/usb", 0xB4C8, 0x2193, 0x0000},
        {"crc-16/aug-ccitt", 0xE5CC, 0x3C8E, 0x1D0F},
        {"crc-16/genibus", 0xD64E, 0xC042, 0x0000},
        {"crc-16/mcrf4xx", 0x6F91, 0xCFC3, 0xFFFF},
        {"crc-32", 0xCBF43926, 0x29058C73, 0x00000000},
        {"crc-32c", 0xE3069283, 0x9C44184B, 0x00000000},
        {"crc-32/bzip2", 0xFC891918, 0xB6B5EE95, 0x00000000},
        {"crc-32/mpeg-2", 0x0376E6E7, 0x494A116A, 0xFFFFFFFF},
        {"adler-32", 0x091E01DE, 0xADF67F81, 0x00000001},  // RFC 1950, from memory
    }));
    CAPTURE(row.name);
    const auto check = find_check(row.name);
    REQUIRE(check.has_value());
    Bytes all(256);
    std::iota(all.begin(), all.end(), std::uint8_t{0});
    CHECK(compute(*check, ascii("123456789")) == row.check);
    CHECK(compute(*check, all) == row.of_bytes);
    CHECK(compute(*check, Bytes{}) == row.of_none);
}

TEST_CASE("other published values", "[midi][checks]") {
    CHECK(compute(Check::adler_32, ascii("Wikipedia")) == 0x11E60398);  // RFC 1950, from memory
    // [CRC], from memory: models that have no name here, through the general CRC
    const auto of_digits = [](const CrcModel& model) {
        Crc crc(model);
        crc.add(ascii("123456789"));
        return crc.value();
    };
    CHECK(of_digits({8, 0x31, 0x00, true, true, 0x00}) == 0xA1);    // MAXIM
    CHECK(of_digits({8, 0x07, 0x00, false, false, 0x55}) == 0xA1);  // I-432-1: the same value by another way
    CHECK(of_digits({8, 0x07, 0xFF, true, true, 0x00}) == 0xD0);    // ROHC
    CHECK(of_digits({32, 0x04C11DB7, 0xFFFFFFFF, true, true, 0xFFFFFFFF}) == 0xCBF43926);    // ISO-HDLC
    CHECK(of_digits({32, 0x04C11DB7, 0xFFFFFFFF, true, true, 0x00000000}) == 0x340BC6D9);    // JAMCRC
    CHECK(of_digits({32, 0x04C11DB7, 0x00000000, false, false, 0xFFFFFFFF}) == 0x765E7680);  // POSIX, without length
}

TEST_CASE("the length is not added by itself", "[midi][checks]") {
    // POSIX cksum appends the length to the data: 930766865 decimal for the nine digits. From memory
    Crc crc({32, 0x04C11DB7, 0x00000000, false, false, 0xFFFFFFFF});
    crc.add(ascii("123456789"));
    crc.add(from_hex("09"));
    CHECK(crc.value() == 930766865);
}

TEST_CASE("a check in several runs is the check of the whole", "[midi][checks]") {
    const Bytes bytes = ascii("123456789");
    for (const CheckRow& row : checks) {
        CAPTURE(row.name);
        for (std::size_t cut = 0; cut <= bytes.size(); ++cut) {
            Checker checker(row.check);
            checker.add(ByteView(bytes).first(cut));
            checker.add({});
            checker.add(ByteView(bytes).subspan(cut));
            CHECK(checker.value() == compute(row.check, bytes));
        }
    }
}

TEST_CASE("the table of checks", "[midi][checks]") {
    std::set<std::string_view> names;
    for (const CheckRow& row : checks) {
        CAPTURE(row.name);
        CHECK(names.insert(row.name).second);
        CHECK(find_check(row.name) == row.check);
        CHECK(name(row.check) == row.name);
        CHECK(width(row.check) == row.width);
        if (const auto model = crc_model(row.check)) CHECK(model->width == row.width);
        if (row.width < 32) CHECK(compute(row.check, ascii("123456789")) >> row.width == 0);
    }
    CHECK_FALSE(find_check("crc-16").has_value());
    CHECK_FALSE(find_check("").has_value());
}
