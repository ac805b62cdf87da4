// Readings: the number that moved is among them, whatever its coding.
#include "study/readings.h"

#include <algorithm>
#include <string>

#include "study/storage_text.h"
#include "support/catch.h"
#include "support/hex.h"

namespace downfit::testing {

namespace {

/// "name: before -> after" of all readings of what differs between two runs of bytes, with the fit's first letter.
std::vector<std::string> readings(const std::string& before, const std::string& after) {
    const Bytes a = from_hex(before);
    const Bytes b = from_hex(after);
    std::size_t first = a.size(), last = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        if (a[i] == b[i]) continue;
        first = std::min(first, i);
        last = i;
    }
    std::vector<std::string> lines;
    for (const study::Reading& reading : study::find_readings(a, b, first, last, std::vector<bool>(a.size(), true))) {
        lines.push_back(reading.name + ": " + reading.before + " -> " + reading.after);
    }
    return lines;
}

bool has(const std::vector<std::string>& lines, const std::string& line) {
    return std::find(lines.begin(), lines.end(), line) != lines.end();
}

}  // namespace

TEST_CASE("each coding is found where it is the one", "[study]") {
    struct Row {
        const char *before, *after, *reading;
    };
    // The IEEE 754 pattern of 440.0 is 43 DC 00 00, of 1.0 3F 80 00 00, of -2.0 C0 00 00 00 (IEEE 754-2008, 3.4);
    // 1.0 in 64 bits is 3F F0 and zeros. 14-bit numbers of two 7-bit bytes, low part first: MIDI 1.0, pitch bend, whose
    // middle 00 40 is 8192.
    const Row row = GENERATE(
        Row{"00 36", "00 3D", "unsigned, one byte (7 bits): 54 -> 61"},
        Row{"36", "BD", "unsigned, one byte: 54 -> 189"}, Row{"FE", "03", "two's complement, one byte: -2 -> 3"},
        Row{"7E", "83", "offset, one byte (128 is 0): -2 -> 3"}, Row{"40", "45", "offset, 7 bits (64 is 0): 0 -> 5"},
        Row{"82", "05", "sign and magnitude, one byte: -2 -> 5"}, Row{"11", "91", "one bit, a switch: 0 -> 1"},
        Row{"15", "1D", "one bit, a switch: 0 -> 1"}, Row{"25", "45", "high nibble: 2 -> 4"},
        Row{"20", "26", "low nibble: 0 -> 6"}, Row{"19", "42", "packed decimal, 2 digits: 19 -> 42"},
        Row{"01 90", "03 E8", "unsigned, 16 bits, big-endian: 400 -> 1000"},
        Row{"90 01", "E8 03", "unsigned, 16 bits, little-endian: 400 -> 1000"},
        Row{"FF FE", "00 05", "two's complement, 16 bits, big-endian: -2 -> 5"},
        Row{"00 40", "01 41", "14 bits in 7-bit bytes, low part first: 8192 -> 8321"},
        Row{"40 00", "41 01", "14 bits in 7-bit bytes, high part first: 8192 -> 8321"},
        Row{"05 0C", "06 0D", "8 bits in nibbles, high part first: 92 -> 109"},
        Row{"0C 05", "0D 06", "8 bits in nibbles, low part first: 92 -> 109"},
        Row{"00 01 E2 40", "00 0F 12 06", "unsigned, 32 bits, big-endian: 123456 -> 987654"},
        Row{"40 E2 01 00", "06 12 0F 00", "unsigned, 32 bits, little-endian: 123456 -> 987654"},
        Row{"43 DC 00 00", "3F 80 00 00", "IEEE 754, 32 bits, big-endian: 440 -> 1"},
        Row{"00 00 DC 43", "00 00 00 C0", "IEEE 754, 32 bits, little-endian: 440 -> -2"},
        Row{"3F F0 00 00 00 00 00 00", "40 00 00 00 00 00 00 00", "IEEE 754, 64 bits, big-endian: 1 -> 2"},
        Row{"12 34", "56 78", "packed decimal, 4 digits: 1234 -> 5678"},
        Row{"\"Alder\"", "\"Aspen\"", "text: Alder -> Aspen"});
    CAPTURE(row.before, row.after, row.reading);
    const std::vector<std::string> found = readings(row.before, row.after);
    CAPTURE(found);
    CHECK(has(found, row.reading));
}

TEST_CASE("the likely reading comes first", "[study]") {
    CHECK(readings("00 36 00", "00 3D 00").front() == "unsigned, one byte (7 bits): 54 -> 61");
    CHECK(readings("01 90", "03 E8").front() == "unsigned, 16 bits, big-endian: 400 -> 1000");
    CHECK(readings("85", "C5").front() == "one bit, a switch: 0 -> 1");
}

TEST_CASE("readings take no byte that belongs to something else", "[study]") {
    const Bytes a = from_hex("05 36 07");
    const Bytes b = from_hex("05 3D 07");
    for (const study::Reading& reading : study::find_readings(a, b, 1, 1, {false, true, false})) {
        if (!reading.storage) continue;
        for (const schema::BitPiece& piece : reading.storage->pieces) CHECK(piece.byte == 1);
    }
    CHECK(study::find_readings(a, b, 5, 5, {true, true, true}).empty());
    CHECK(study::find_readings({}, {}, 0, 0, {}).empty());
}

TEST_CASE("storages are written as release files say them", "[study]") {
    using schema::Coding;
    CHECK(study::storage_text(study::whole_bytes(3, 1, false)) == R"("at": 3)");
    CHECK(study::storage_text(study::whole_bytes(3, 2, true)) == R"("at": 3, "as": "uint16", "order": "little")");
    CHECK(study::storage_text(study::whole_bytes(3, 4, false, Coding::float32)) == R"("at": 3, "as": "float32")");
    CHECK(study::storage_text(study::bits_of(3, 7, 1)) == R"("at": 3, "as": "bits", "bit": 7, "width": 1)");
    CHECK(study::storage_text(study::bits_of(3, 0, 8, Coding::offset_binary)) ==
          R"("at": 3, "as": "bits", "bit": 0, "width": 8, "signed": "offset")");
    CHECK(study::storage_text(study::low_bits_of(3, 2, 7, true)) ==
          R"("at": [{"byte": 4, "bit": 0, "width": 7}, {"byte": 3, "bit": 0, "width": 7}])");
}

TEST_CASE("few digits", "[study]") {
    for (const double number : {0.0, 440.0, 441.5, -12.3, 0.05, 99999.0}) CHECK(study::has_few_digits(number));
    CHECK(study::has_few_digits(static_cast<double>(0.1F)));
    for (const double number : {-233475.953125, 1e7, 0.00012, 3.14159274}) CHECK_FALSE(study::has_few_digits(number));
}

}  // namespace downfit::testing
