// Framing of System Exclusive, against the published rows.
//
// Sources: [M1] is the MIDI 1.0 Detailed Specification 4.2.1.

#include "midi/sysex.h"

#include <string>
#include <vector>

#include "midi/manufacturer.h"
#include "problem_text.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::midi;
using testing::from_hex;
using testing::problem_text;
using testing::to_hex;

namespace {

/// Items on one line: "message@0+6 7D 01 02 03; junk@6+1". Real time as "rt F8@3", the ending status as "by 90@4".
std::string listed(const std::vector<Item>& items) {
    static constexpr const char* kinds[] = {"message", "damaged", "junk"};
    static constexpr const char* reasons[] = {"", " ended", " ambiguous", " cut", " no-id"};
    std::string out;
    for (const Item& item : items) {
        if (!out.empty()) out += "; ";
        out += kinds[static_cast<int>(item.kind)];
        out += reasons[static_cast<int>(item.damage)];
        out += "@" + std::to_string(item.span.offset) + "+" + std::to_string(item.span.length);
        if (!item.content.empty()) out += " " + to_hex(item.content);
        for (const StatusByte& byte : item.real_time) {
            out += " rt " + to_hex(Bytes{byte.value}) + "@" + std::to_string(byte.offset);
        }
        if (const auto& by = item.ended_by) {
            out += " by " + to_hex(Bytes{by->value}) + "@" + std::to_string(by->offset);
        }
    }
    return out;
}

struct ItemRow {
    const char* input;
    const char* expected;
};

/// Reads `bytes`, insists that the spans cover them once and in order, and that messages are written back alike.
std::vector<Item> read_checked(const Bytes& bytes, std::size_t file_offset = 0) {
    const std::vector<Item> items = read_sysex(bytes, file_offset);
    std::size_t at = file_offset;
    for (const Item& item : items) {
        CHECK(item.span.offset == at);
        CHECK(item.span.length > 0);
        at += item.span.length;
        if (item.kind != ItemKind::message) continue;
        const auto written = frame(item.content, item.real_time, item.span.offset);
        REQUIRE(written.ok());
        const ByteView original = ByteView(bytes).subspan(item.span.offset - file_offset, item.span.length);
        CHECK(to_hex(written.value()) == to_hex(original));
    }
    CHECK(at == file_offset + bytes.size());
    return items;
}

}  // namespace

TEST_CASE("sysex framing rows", "[midi][sysex]") {
    const ItemRow row = GENERATE(values<ItemRow>({
        // [M1] p. 34
        {"F0 7D 01 02 03 F7", "message@0+6 7D 01 02 03"},
        // [M1] pp. 5, 29: real time may sit between data bytes and cannot end an exclusive
        {"F0 7D 01 F8 02 FE 03 F7", "message@0+8 7D 01 02 03 rt F8@3 rt FE@5"},
        // [M1] pp. 5, 29: any status except real time ends it
        {"F0 7D 01 02 90 40 7F", "damaged ended@0+4 7D 01 02 by 90@4; junk@4+3"},
        {"F0 7D 01 02 F0 7D 03 F7", "damaged ended@0+4 7D 01 02 by F0@4; message@4+4 7D 03"},
        // [M1] p. 6 against p. 29: ambiguous
        {"F0 7D 01 F4 02 F7", "damaged ambiguous@0+3 7D 01 by F4@3; junk@3+3"},
        {"F0 7D 01 F5 02 F7", "damaged ambiguous@0+3 7D 01 by F5@3; junk@3+3"},
        // [M1] pp. 5, 6: undefined real time is ignored
        {"F0 7D 01 F9 02 F7", "message@0+6 7D 01 02 rt F9@3"},
        {"F0 7D 01 FD 02 F7", "message@0+6 7D 01 02 rt FD@3"},
        // [M1] pp. 29, 6: a tune request ends it; stray data and a lone F7 are ignored
        {"F0 7D 01 F6 02 F7", "damaged ended@0+3 7D 01 by F6@3; junk@3+3"},
        // [M1] p. 6: data without a status is ignored
        {"F7", "junk@0+1"},
        {"01 02 F0 7D F7", "junk@0+2; message@2+3 7D"},
        // [M1] p. 29
        {"F0 7D 01 02 03", "damaged cut@0+5 7D 01 02 03"},
        // [M1] p. 34: well framed, no manufacturer id
        {"F0 F7", "damaged no-id@0+2"},
        // [M1] p. 40: identity request; reply with a one-byte and a (made up) three-byte id
        {"F0 7E 7F 06 01 F7", "message@0+6 7E 7F 06 01"},
        {"F0 7E 10 06 02 7D 05 00 02 00 03 09 00 00 F7", "message@0+15 7E 10 06 02 7D 05 00 02 00 03 09 00 00"},
        {"F0 7E 10 06 02 00 7F 7E 05 00 02 00 03 0A 00 02 F7",
         "message@0+17 7E 10 06 02 00 7F 7E 05 00 02 00 03 0A 00 02"},
        // The rest follows from the same rules.
        {"", ""},
        {"F0", "damaged cut@0+1"},
        {"F0 F0 F7", "damaged ended@0+1 by F0@1; damaged no-id@1+2"},
        {"F0 00 7F F7", "damaged no-id@0+4 00 7F"},
        {"F0 F8 7D F8 F8 F7 F8", "message@0+6 7D rt F8@1 rt F8@3 rt F8@4; junk@6+1"},
        {"F0 7D F8", "damaged cut@0+3 7D rt F8@2"},
        {"F0 7D F7 00 00 F0 7D 01 F7", "message@0+3 7D; junk@3+2; message@5+4 7D 01"},
    }));
    CAPTURE(row.input);
    CHECK(listed(read_checked(from_hex(row.input))) == row.expected);
}

TEST_CASE("offsets count from the start of the file", "[midi][sysex]") {
    CHECK(listed(read_checked(from_hex("05 F0 7D F8 01 90 F0 7D F7"), 100)) ==
          "junk@100+1; damaged ended@101+4 7D 01 rt F8@103 by 90@105; junk@105+1; message@106+3 7D");
}

TEST_CASE("content bytes are found in the file in spite of real time", "[midi][sysex]") {
    const Bytes bytes = from_hex("01 F0 F8 F8 7D 01 FE 02 F8 F7");
    const Item item = read_checked(bytes).at(1);
    REQUIRE(item.content == from_hex("7D 01 02"));
    for (std::size_t i = 0; i < item.content.size(); ++i) CHECK(bytes[content_offset(item, i)] == item.content[i]);
    CHECK(content_offset(item, 0) == 4);
    CHECK(content_offset(item, 1) == 5);
    CHECK(content_offset(item, 2) == 7);
    CHECK(content_offset(item, item.content.size()) == 9);
}

TEST_CASE("framing refuses what could not be read back", "[midi][sysex]") {
    CHECK(to_hex(frame(from_hex("7D 01 02 03")).value()) == "F0 7D 01 02 03 F7");
    CHECK(problem_text(frame(from_hex("7D 01 80"))) == "2+1: byte 80 cannot be sent as data [00 to 7F]");
    const std::string no_id = "the message has no manufacturer id [one byte, or 00 and two more]";
    CHECK(problem_text(frame(Bytes{})) == "0+0: " + no_id);
    CHECK(problem_text(frame(from_hex("00 7F"))) == "0+2: " + no_id);
    const std::vector<StatusByte> wrong_value{{2, 0xF7}};
    CHECK(problem_text(frame(from_hex("7D 01"), wrong_value)) == "2+1: byte F7 is not real time [F8 to FF]");
    const std::string outside =
        "the real-time byte lies outside the message or out of order "
        "[an offset between F0 and F7, above the one before it]";
    const std::vector<StatusByte> too_late{{4, 0xF8}};
    CHECK(problem_text(frame(from_hex("7D 01"), too_late)) == "4+1: " + outside);
    const std::vector<StatusByte> at_start{{0, 0xF8}};
    CHECK(problem_text(frame(from_hex("7D 01"), at_start)) == "0+1: " + outside);
    const std::vector<StatusByte> unordered{{3, 0xF8}, {2, 0xF8}};
    CHECK(problem_text(frame(from_hex("7D 01"), unordered)) == "2+1: " + outside);
}

TEST_CASE("each damage has a text", "[midi][sysex]") {
    CHECK(text(Damage::none) == "the message is whole");
    CHECK(text(Damage::missing_end) == "the message is cut off by the end of the input");
    CHECK(std::string(text(Damage::ended_by_undefined_status)).find("another is ignored") != std::string::npos);
}

TEST_CASE("manufacturer ids and their groups", "[midi][manufacturer]") {
    struct IdRow {
        const char* content;
        const char* id;
        const char* group;
    };
    // [M1] p. 34: the ranges, first and last of each; p. 35 for 7E and 7F
    const IdRow row = GENERATE(values<IdRow>({
        {"01 55", "01", "american"},
        {"1F", "1F", "american"},
        {"20", "20", "european"},
        {"3F", "3F", "european"},
        {"40", "40", "japanese"},
        {"5F", "5F", "japanese"},
        {"60", "60", "other"},
        {"7C", "7C", "other"},
        {"7D", "7D", "non-commercial"},
        {"7E", "7E", "universal non-real-time"},
        {"7F", "7F", "universal real-time"},
        {"00 00 01 55", "00 00 01", "american"},
        {"00 1F 7F", "00 1F 7F", "american"},
        {"00 20 00", "00 20 00", "european"},
        {"00 3F 7F", "00 3F 7F", "european"},
        {"00 40 00", "00 40 00", "japanese"},
        {"00 5F 7F", "00 5F 7F", "japanese"},
        {"00 60 00", "00 60 00", "other"},
        {"00 7F 7F", "00 7F 7F", "other"},
        {"00 7F 7E", "00 7F 7E", "other"},
        {"00 00 00", "00 00 00", "unused"},
    }));
    CAPTURE(row.content);
    const auto id = parse_manufacturer_id(from_hex(row.content));
    REQUIRE(id.has_value());
    CHECK(to_hex(id->view()) == row.id);
    CHECK(name(id_group(*id)) == row.group);
}

TEST_CASE("no manufacturer id", "[midi][manufacturer]") {
    for (const char* content : {"", "00", "00 01", "80", "00 80 01", "00 01 80"}) {
        CAPTURE(content);
        CHECK_FALSE(parse_manufacturer_id(from_hex(content)).has_value());
    }
    CHECK(id_group({{0, 0, 0}, 1}) == IdGroup::unused);
}
