// What is said of a damaged dump, word for word.
#include <algorithm>

#include "dump/dump.h"
#include "dump/show_problem.h"
#include "dump/small_devices.h"
#include "support/catch.h"
#include "support/hex.h"

namespace downfit {

namespace {

using dump::SlotState;
using testing::from_hex;
using testing::piece;

constexpr std::size_t start_1 = testing::siskin_size;  // slot 1: its start, parts and end
constexpr std::size_t part_0 = start_1 + 11;
constexpr std::size_t part_1 = part_0 + 17;
constexpr std::size_t end_1 = part_1 + 17;
constexpr std::size_t start_2 = end_1 + 8;

Bytes without(Bytes bytes, std::size_t from, std::size_t to) {
    bytes.erase(bytes.begin() + static_cast<std::ptrdiff_t>(from), bytes.begin() + static_cast<std::ptrdiff_t>(to));
    return bytes;
}

Bytes with(Bytes bytes, std::size_t at, std::uint8_t value) {
    bytes[at] = value;
    return bytes;
}

Bytes with_inserted(Bytes bytes, std::size_t at, const Bytes& more) {
    bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at), more.begin(), more.end());
    return bytes;
}

Problem in_bank(std::size_t offset, std::size_t length, std::string what, std::string expected = "", int slot = 1) {
    return {BytePlace{"bank.syx", offset, length, slot}, std::move(what), std::move(expected), ""};
}

/// The damage told of slot 1 in a bank of three.
Problems damage_of_1(const Bytes& bytes) {
    const schema::Device device = testing::siskin();
    const auto dump = dump::read("bank.syx", bytes, device);
    REQUIRE(dump.ok());
    REQUIRE(dump.value().entries.size() == 3);
    CHECK(dump.value().entries[0].state == SlotState::filled);
    CHECK(dump.value().entries[1].state == SlotState::damaged);
    CHECK(dump.value().entries[2].state == SlotState::filled);
    CHECK(dump.value().entries[1].slot == 1);
    CHECK(dump.value().problems == Problems{});
    return dump.value().entries[1].damage;
}

}  // namespace

TEST_CASE("damage is told with its place, its slot and what was expected", "[dump]") {
    const Bytes bank = testing::siskin_bank();

    SECTION("a changed data byte") {
        // Two checks notice: the message's and the preset's.
        const Problems damage = damage_of_1(with(bank, part_0 + 9, static_cast<std::uint8_t>(bank[part_0 + 9] ^ 0x01)));
        REQUIRE(damage.size() == 2);
        CHECK(damage[0] ==
              in_bank(part_0 + 15, 1,
                      "message \"part\": the check sum-7-complement is 46, but the bytes it covers make 47", "47"));
        CHECK(damage[1] == in_bank(part_1 + 13, 2,
                                   "the check crc-16/ccitt-false is ABD1, but the bytes it covers make C494", "C494"));
    }
    SECTION("a changed check") {
        CHECK(damage_of_1(with(bank, part_0 + 15, 0x00)) ==
              Problems{in_bank(part_0 + 15, 1,
                               "message \"part\": the check sum-7-complement is 00, but the bytes it covers make 46",
                               "46")});
    }
    SECTION("a changed slot number in the first message") {
        CHECK(damage_of_1(with(bank, start_1 + 6, 0x02)) ==
              Problems{in_bank(start_1 + 9, 1,
                               "message \"start\": the check sum-7-complement is 7C, but the bytes it covers make 7B",
                               "7B")});
    }
    SECTION("a changed slot number that nothing checks") {
        CHECK(damage_of_1(with(bank, end_1 + 6, 0x05)) ==
              Problems{in_bank(end_1, 8, "message \"end\" names slot 5", "slot 1")});
    }
    SECTION("a missing start") {
        CHECK(damage_of_1(without(bank, start_1, part_0)) ==
              Problems{in_bank(start_1, 17, "message \"start\" is missing")});
    }
    SECTION("a missing part") {
        CHECK(damage_of_1(without(bank, part_0, part_1)) ==
              Problems{in_bank(part_0, 17, "part 0 is missing", "part 0")});
    }
    SECTION("a missing last part") {
        CHECK(damage_of_1(without(bank, part_1, end_1)) ==
              Problems{in_bank(part_1 + 8, 0, "1 part came, 2 are announced", "2 parts")});
    }
    SECTION("no parts at all") {
        CHECK(damage_of_1(without(bank, part_0, end_1)) ==
              Problems{in_bank(part_0, 0, "message \"part\" is missing"),
                       in_bank(part_0 + 8, 0, "0 parts came, 2 are announced", "2 parts")});
    }
    SECTION("a missing end") {
        CHECK(damage_of_1(without(bank, end_1, start_2)) == Problems{in_bank(end_1, 0, "message \"end\" is missing")});
    }
    SECTION("a doubled part") {
        CHECK(damage_of_1(with_inserted(bank, part_1, piece(bank, part_0, part_1))) ==
              Problems{in_bank(part_1, 17, "part 0 stands twice or too late", "part 1")});
    }
    SECTION("parts out of order") {
        Bytes swapped = bank;
        std::rotate(swapped.begin() + part_0, swapped.begin() + part_1, swapped.begin() + end_1);
        CHECK(damage_of_1(swapped) == Problems{in_bank(part_0, 17, "part 0 is missing", "part 0"),
                                               in_bank(part_1, 17, "part 0 stands twice or too late", "part 2")});
    }
    SECTION("a message cut off by another") {
        CHECK(
            damage_of_1(without(bank, part_1 + 12, end_1)) ==
            Problems{in_bank(part_1 + 12, 0, "message \"part\": the message is cut off by another status byte", "F7")});
    }
    SECTION("an F7 in the midst of a message") {
        CHECK(damage_of_1(with(bank, end_1 + 6, 0xF7)) ==
              Problems{in_bank(end_1, 0, "message \"end\" is missing"),
                       in_bank(end_1, 7, "no layout of siskin has a message like F0 7D 06 00 22 00 F7"),
                       in_bank(end_1 + 7, 1, "1 byte belongs to no message: F7")});
    }
    SECTION("a message that nothing knows any more") {
        CHECK(damage_of_1(with(bank, part_0 + 2, 0x07)) ==
              Problems{in_bank(part_1, 17, "part 0 is missing", "part 0"),
                       in_bank(part_0, 17, "no layout of siskin has a message like F0 7D 07 00 21 00 01 00 ...")});
    }
}

TEST_CASE("the end of the file in the midst of a preset is told", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    const auto dump = dump::read("bank.syx", ByteView(bank).first(part_1 + 10), device).value();
    REQUIRE(dump.entries.size() == 2);
    CHECK(dump.entries[1].damage ==
          Problems{in_bank(part_1 + 10, 0, "message \"part\": the message is cut off by the end of the input", "F7"),
                   in_bank(part_1 + 10, 0, "message \"end\" is missing")});
    CHECK(dump.entries[1].messages.size() == 2);
    CHECK(dump.spans.back().kind == dump::Span::Kind::damaged);
}

TEST_CASE("what belongs to no preset is told and covered", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    const Bytes foreign = from_hex("F0 7D 70 01 F7");
    const Bytes bytes =
        testing::joined({{0x00, 0x01}, piece(bank, 0, 28), foreign, piece(bank, 28, bank.size()), {0xFE}, {0x42}});
    const auto dump = dump::read("bank.syx", bytes, device).value();
    REQUIRE(dump.entries.size() == 3);
    for (const dump::Entry& entry : dump.entries) CHECK(entry.state == SlotState::filled);
    CHECK(dump.problems == Problems{in_bank(0, 2, "2 bytes belong to no message: 00 01", "", -1),
                                    in_bank(30, 5, "no layout of siskin has a message like F0 7D 70 01 F7", "", -1),
                                    in_bank(bytes.size() - 2, 2, "2 bytes belong to no message: FE 42", "", -1)});
    CHECK(dump::write(dump, bytes).value() == bytes);
}

TEST_CASE("slots that stand twice or do not exist are told", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes body = testing::siskin_body(4);
    const Bytes bytes = testing::joined(
        {testing::siskin_preset(4, body), testing::siskin_preset(16, body), testing::siskin_preset(4, body)});
    const auto dump = dump::read("bank.syx", bytes, device).value();
    REQUIRE(dump.entries.size() == 3);
    const std::size_t size = testing::siskin_size;
    // Told as the device shows them, from 1.
    CHECK(dump.problems ==
          Problems{in_bank(size, 11, "slot 17 is beyond the last one", "1 to 16", 16),
                   in_bank(2 * size, 11, "slot 5 stands twice in this file; the other is at offset 0", "", 4)});
}

TEST_CASE("a file without any message of the device is refused", "[dump]") {
    const schema::Device device = testing::siskin();
    for (const char* hex : {"", "F0 7D 70 01 F7", "00 01 02"}) {
        const auto dump = dump::read("bank.syx", from_hex(hex), device);
        REQUIRE(!dump.ok());
        CHECK(dump.problems() == Problems{{std::string("bank.syx"), "no message of siskin is in this file",
                                           "System Exclusive messages as the layouts of siskin describe them", ""}});
    }
}

TEST_CASE("an empty slot is neither filled nor damaged", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bytes = testing::siskin_preset(3, from_hex("FF *10"));
    const auto dump = dump::read("bank.syx", bytes, device).value();
    REQUIRE(dump.entries.size() == 1);
    CHECK(dump.entries[0].state == SlotState::empty);
    CHECK(dump.entries[0].stamp == schema::Stamp{std::int64_t{1}});
    CHECK(dump.digest.size() == 64);
}

TEST_CASE("a lone preset that is cut off keeps its slot", "[dump]") {
    const schema::Device device = testing::wren();
    const Bytes bytes = from_hex("F0 7D 09 03 01 0A F0 7D 09 04 01 0A 0B F7");
    const auto dump = dump::read("bank.syx", bytes, device).value();
    REQUIRE(dump.entries.size() == 2);
    CHECK(dump.entries[0].damage ==
          Problems{in_bank(6, 0, "message \"preset\": the message is cut off by another status byte", "F7", 3)});
    CHECK(dump.entries[1].state == SlotState::filled);
}

TEST_CASE("a real-time byte that swallowed a data byte is noticed by the length", "[dump]") {
    const schema::Device device = testing::wren();
    const auto dump = dump::read("bank.syx", from_hex("F0 7D 09 03 01 0A F9 F7"), device).value();
    REQUIRE(dump.entries.size() == 1);
    CHECK(dump.entries[0].damage ==
          Problems{in_bank(6, 1,
                           "message \"preset\": a real-time byte stands inside, and the preset's "
                           "length, 1 bytes, is not any release's",
                           "a data byte", 3)});
}

}  // namespace downfit
