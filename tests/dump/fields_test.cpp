// Fields: every coding both ways, bit by bit.
#include <cmath>
#include <limits>

#include "dump/fields.h"
#include "dump/tree.h"
#include "midi/numbers.h"
#include "support/catch.h"
#include "support/hex.h"
#include "support/property.h"

namespace downfit {

namespace {

using dump::Stored;
using schema::BitPiece;
using schema::Coding;
using schema::Storage;
using testing::from_hex;
using testing::to_hex;

Storage bits(Coding coding, std::vector<BitPiece> pieces) {
    Storage storage;
    storage.coding = coding;
    storage.pieces = std::move(pieces);
    return storage;
}

/// Whole bytes from byte `at` on.
Storage bytes(Coding coding, std::int64_t at, int count, bool little = false) {
    std::vector<BitPiece> pieces;
    for (int i = 0; i < count; ++i) pieces.push_back({little ? at + count - 1 - i : at + i, 0, 8});
    return bits(coding, std::move(pieces));
}

Storage text(std::int64_t at, std::size_t length, std::uint8_t padding = ' ') {
    Storage storage;
    storage.coding = Coding::text;
    storage.text_at = at;
    storage.text_length = length;
    storage.padding = padding;
    return storage;
}

Stored whole(std::int64_t number) {
    return {Stored::Kind::whole, number, 0, {}};
}

Stored real(double number) {
    return {Stored::Kind::real, 0, number, {}};
}

Stored words(std::string raw) {
    return {Stored::Kind::text, 0, 0, std::move(raw)};
}

struct FieldRow {
    const char* name;
    Storage storage;
    const char* body;
    Stored stored;
};

const std::vector<FieldRow> field_rows{
    {"one byte", bytes(Coding::unsigned_number, 1, 1), "00 FE 00", whole(254)},
    {"two bytes, big end first", bytes(Coding::unsigned_number, 0, 2), "12 34", whole(0x1234)},
    {"two bytes, little end first", bytes(Coding::unsigned_number, 0, 2, true), "34 12", whole(0x1234)},
    {"three bytes", bytes(Coding::unsigned_number, 1, 3), "00 12 34 56", whole(0x123456)},
    {"four bytes, little end first", bytes(Coding::unsigned_number, 0, 4, true), "78 56 34 F2", whole(0xF2345678)},
    {"three bytes with sign", bytes(Coding::twos_complement, 0, 3), "FF FF FE", whole(-2)},
    {"32 bits, least", bytes(Coding::twos_complement, 0, 4), "80 00 00 00", whole(-2147483648LL)},
    {"pieces, most significant first", bits(Coding::unsigned_number, {{0, 0, 4}, {2, 5, 3}}), "0B 00 A0", whole(0x5D)},
    {"one bit", bits(Coding::unsigned_number, {{0, 7, 1}}), "80", whole(1)},
    {"14 bits of seven", bits(Coding::twos_complement, {{0, 0, 7}, {1, 0, 7}}), "40 00", whole(-8192)},
    // -1 and the least number of 7, 8 and 14 bits; arithmetic, no other source.
    {"two's complement, 7 bits, -1", bits(Coding::twos_complement, {{0, 0, 7}}), "7F", whole(-1)},
    {"two's complement, 7 bits, least", bits(Coding::twos_complement, {{0, 0, 7}}), "40", whole(-64)},
    {"offset binary, 7 bits, -1", bits(Coding::offset_binary, {{0, 0, 7}}), "3F", whole(-1)},
    {"offset binary, 7 bits, least", bits(Coding::offset_binary, {{0, 0, 7}}), "00", whole(-64)},
    {"two's complement, 8 bits, -1", bytes(Coding::twos_complement, 0, 1), "FF", whole(-1)},
    {"two's complement, 8 bits, least", bytes(Coding::twos_complement, 0, 1), "80", whole(-128)},
    {"offset binary, 8 bits, -1", bytes(Coding::offset_binary, 0, 1), "7F", whole(-1)},
    {"offset binary, 8 bits, least", bytes(Coding::offset_binary, 0, 1), "00", whole(-128)},
    {"offset binary, 14 bits, -1", bits(Coding::offset_binary, {{0, 0, 7}, {1, 0, 7}}), "3F 7F", whole(-1)},
    {"offset binary, 14 bits, least", bits(Coding::offset_binary, {{0, 0, 7}, {1, 0, 7}}), "00 00", whole(-8192)},
    // -12 in 7 bits in the three codings; arithmetic.
    {"two's complement, -12", bits(Coding::twos_complement, {{0, 0, 7}}), "74", whole(-12)},
    {"offset binary, -12", bits(Coding::offset_binary, {{0, 0, 7}}), "34", whole(-12)},
    {"sign and magnitude, -12", bits(Coding::sign_magnitude, {{0, 0, 7}}), "4C", whole(-12)},
    // IEEE 754-2019 binary32; the bytes agree with Python's struct module.
    {"1", bytes(Coding::float32, 0, 4), "3F 80 00 00", real(1)},
    {"-0", bytes(Coding::float32, 0, 4), "80 00 00 00", real(-0.0)},
    {"0.1", bytes(Coding::float32, 0, 4), "3D CC CC CD", real(static_cast<double>(0.1F))},
    {"0.15625", bytes(Coding::float32, 0, 4), "3E 20 00 00", real(0.15625)},
    {"-118.625", bytes(Coding::float32, 0, 4), "C2 ED 40 00", real(-118.625)},
    {"a third", bytes(Coding::float32, 0, 4), "3E AA AA AB", real(static_cast<double>(1.0F / 3.0F))},
    {"440", bytes(Coding::float32, 0, 4), "43 DC 00 00", real(440)},
    {"pi", bytes(Coding::float32, 0, 4), "40 49 0F DB", real(static_cast<double>(3.14159274F))},
    {"20000, little end first", bytes(Coding::float32, 0, 4, true), "00 40 9C 46", real(20000)},
    {"infinity", bytes(Coding::float32, 0, 4), "7F 80 00 00", real(std::numeric_limits<double>::infinity())},
    {"least normal", bytes(Coding::float32, 0, 4), "00 80 00 00", real(0x1p-126)},
    {"least subnormal", bytes(Coding::float32, 0, 4), "00 00 00 01", real(0x1p-149)},
    {"greatest", bytes(Coding::float32, 0, 4), "7F 7F FF FF", real(0x1.fffffep127)},
    {"16777216", bytes(Coding::float32, 0, 4), "4B 80 00 00", real(16777216)},
    {"float64", bytes(Coding::float64, 0, 8), "3F F0 00 00 00 00 00 00", real(1)},
    {"float64, little end first", bytes(Coding::float64, 0, 8, true), "9A 99 99 99 99 99 B9 3F", real(0.1)},
    {"text", text(1, 4), "00 41 42 20 20", words("AB")},
    {"text with spaces inside", text(0, 4), "41 20 42 20", words("A B")},
    {"empty text", text(0, 2), "20 20", words("")},
    {"text padded with zeros", text(0, 4, 0), "41 20 00 00", words("A ")},
};

}  // namespace

TEST_CASE("fields are read and written bit by bit", "[dump]") {
    for (const FieldRow& row : field_rows) {
        CAPTURE(row.name);
        const Bytes body = from_hex(row.body);
        CHECK(dump::read_field(row.storage, body) == row.stored);
        Bytes blank(body.size(), 0);
        REQUIRE(dump::write_field(row.storage, row.stored, blank));
        CHECK(dump::read_field(row.storage, blank) == row.stored);
        Bytes same = body;
        REQUIRE(dump::write_field(row.storage, row.stored, same));
        CHECK(to_hex(same) == to_hex(body));
        CHECK(dump::read_field(row.storage, ByteView(body).first(0)) == Stored{});
    }
}

TEST_CASE("minus zero by sign and magnitude reads as zero", "[dump]") {
    CHECK(dump::read_field(bits(Coding::sign_magnitude, {{0, 0, 7}}), from_hex("40")) == whole(0));
}

TEST_CASE("a NaN stays a NaN", "[dump]") {
    const Storage storage = bytes(Coding::float32, 0, 4);
    const Stored stored = dump::read_field(storage, from_hex("7F C0 00 00"));
    REQUIRE(stored.kind == Stored::Kind::real);
    CHECK(std::isnan(stored.real));
    Bytes body(4, 0);
    CHECK(dump::write_field(storage, stored, body));
    CHECK(to_hex(body) == "7F C0 00 00");
}

TEST_CASE("writing leaves neighbouring bits alone", "[dump]") {
    Bytes body = from_hex("FF FF FF");
    REQUIRE(dump::write_field(bits(Coding::unsigned_number, {{0, 2, 3}, {2, 5, 2}}), whole(0), body));
    CHECK(to_hex(body) == "E3 FF 9F");
}

TEST_CASE("what does not fit is not written", "[dump]") {
    const Storage seven = bits(Coding::twos_complement, {{0, 0, 7}});
    const auto refused = [](const Storage& storage, const Stored& stored) {
        Bytes body = from_hex("55 55 55 55");
        const bool written = dump::write_field(storage, stored, body);
        return !written && to_hex(body) == "55 55 55 55";
    };
    CHECK(refused(seven, whole(64)));
    CHECK(refused(seven, whole(-65)));
    CHECK(refused(seven, real(1)));
    CHECK(refused(seven, words("1")));
    CHECK(refused(seven, Stored{}));
    CHECK(refused(bits(Coding::sign_magnitude, {{0, 0, 7}}), whole(-64)));
    CHECK(refused(bytes(Coding::unsigned_number, 0, 1), whole(-1)));
    CHECK(refused(bytes(Coding::unsigned_number, 0, 1), whole(256)));
    CHECK(refused(bytes(Coding::unsigned_number, 3, 2), whole(1)));
    CHECK(refused(bytes(Coding::unsigned_number, -1, 1), whole(1)));
    CHECK(refused(bytes(Coding::float32, 0, 4), real(16777217)));
    CHECK(refused(bytes(Coding::float32, 0, 4), real(1e39)));
    CHECK(refused(text(0, 3), words("ABCD")));
    CHECK(refused(text(0, 3), words("A ")));
    CHECK(refused(text(2, 4), words("ABC")));
    CHECK(refused(text(4, 1), words("A")));
}

TEST_CASE("a text that the body cuts is read as far as it goes", "[dump]") {
    const Bytes body = from_hex("\"Hall\"");
    CHECK(dump::read_field(text(2, 8), body) == words("ll"));
    CHECK(dump::read_field(text(4, 8), body) == Stored{});
}

TEST_CASE("what a field can hold", "[dump]") {
    CHECK(dump::least_stored(bytes(Coding::unsigned_number, 0, 2)) == 0);
    CHECK(dump::most_stored(bytes(Coding::unsigned_number, 0, 2)) == 65535);
    CHECK(dump::least_stored(bytes(Coding::twos_complement, 0, 1)) == -128);
    CHECK(dump::most_stored(bytes(Coding::offset_binary, 0, 1)) == 127);
    CHECK(dump::least_stored(bytes(Coding::sign_magnitude, 0, 1)) == -127);
    CHECK(dump::most_stored(bytes(Coding::unsigned_number, 0, 8)) == std::numeric_limits<std::int64_t>::max());
    CHECK(dump::least_stored(bytes(Coding::twos_complement, 0, 8)) == std::numeric_limits<std::int64_t>::min());
}

TEST_CASE("64 unsigned bits keep their pattern", "[dump]") {
    const Storage storage = bytes(Coding::unsigned_number, 0, 8);
    const Bytes body = from_hex("FF FF FF FF FF FF FF FE");
    CHECK(dump::read_field(storage, body) == whole(-2));
    CHECK(dump::read_bits(storage, body) == 0xFFFFFFFFFFFFFFFEU);
    Bytes written(8, 0);
    CHECK(dump::write_field(storage, whole(-2), written));
    CHECK(written == body);
}

TEST_CASE("fields and the codings of midi/ agree", "[dump]") {
    struct Pair {
        Coding ours;
        midi::SignCoding theirs;
    };
    const std::vector<Pair> pairs{{Coding::twos_complement, midi::SignCoding::twos_complement},
                                  {Coding::offset_binary, midi::SignCoding::offset_binary},
                                  {Coding::sign_magnitude, midi::SignCoding::sign_magnitude}};
    testing::holds("for signed numbers of 1 to 32 bits", [&] {
        const Pair pair = *rc::gen::elementOf(pairs);
        const auto width = *rc::gen::inRange(1U, 33U);
        const auto raw = *rc::gen::arbitrary<std::uint32_t>();
        std::vector<BitPiece> pieces;
        for (unsigned left = width, byte = 0; left > 0; ++byte) {
            const unsigned part = std::min(left, 8U);
            pieces.push_back({static_cast<std::int64_t>(byte), 0, static_cast<std::uint8_t>(part)});
            left -= part;
        }
        const Storage storage = bits(pair.ours, pieces);
        Bytes body(4, 0);
        std::uint64_t rest = width == 32 ? raw : raw & ((1U << width) - 1);
        const std::uint64_t pattern = rest;
        for (std::size_t i = pieces.size(); i-- > 0;) {
            body[i] = static_cast<std::uint8_t>(rest & ((1U << pieces[i].width) - 1));
            rest >>= pieces[i].width;
        }
        const auto stored = dump::read_field(storage, body);
        RC_ASSERT(stored.whole == midi::decode_signed(pair.theirs, static_cast<std::uint32_t>(pattern), width));
        Bytes again(4, 0);
        RC_ASSERT(dump::write_field(storage, stored, again));
        RC_ASSERT(dump::read_field(storage, again) == stored);
    });
}

TEST_CASE("texts become UTF-8", "[dump]") {
    using schema::Encoding;
    struct TextRow {
        std::string raw;
        Encoding encoding;
        std::string text;
        bool complete;
    };
    const std::string sign = "\xEF\xBF\xBD";
    const std::vector<TextRow> texts{
        {"Hall", Encoding::ascii, "Hall", true},
        {"H\xE4ll", Encoding::ascii, "H" + sign + "ll", false},
        {"H\xE4ll", Encoding::latin1, "H\xC3\xA4ll", true},
        {"\xFF\xA0", Encoding::latin1, "\xC3\xBF\xC2\xA0", true},
        {"\x85", Encoding::latin1, sign, false},
        {"H\xC3\xA4ll", Encoding::utf8, "H\xC3\xA4ll", true},
        {"\xE2\x82\xAC \xF0\x9F\x8E\xB8", Encoding::utf8, "\xE2\x82\xAC \xF0\x9F\x8E\xB8", true},
        {"A\tB", Encoding::ascii, "A" + sign + "B", false},
        {std::string("A\0", 2), Encoding::utf8, "A" + sign, false},
        // The Unicode Standard, chapter 3, table "U+FFFD for truncated sequences": one sign for each maximal part.
        {"\xE1\x80\xE2\xF0\x91\x92\xF1\xBF\x41", Encoding::utf8, sign + sign + sign + sign + "A", false},
        {"\xC0\xAF\xE0\x80\xBF\x41", Encoding::utf8, sign + sign + sign + sign + sign + "A", false},
        {"\xED\xA0\x80", Encoding::utf8, sign + sign + sign, false},
    };
    for (const TextRow& row : texts) {
        CAPTURE(row.raw);
        const dump::Utf8Text text = dump::to_utf8(row.raw, row.encoding);
        CHECK(text.text == row.text);
        CHECK(text.complete == row.complete);
    }
}

}  // namespace downfit
