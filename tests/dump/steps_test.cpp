// Every kind of step in a small device, both ways, with bytes worked out by hand.
#include <algorithm>

#include "dump/dump.h"
#include "dump/show_problem.h"
#include "dump/small_devices.h"
#include "support/catch.h"
#include "support/hex.h"

namespace downfit {

namespace {

using midi::Check;
using testing::from_hex;
using testing::to_hex;
using Packing = schema::UnpackStep::Packing;

struct StepRow {
    const char* name;
    std::vector<schema::Step> message_steps;
    std::vector<schema::Step> layout_steps;
    const char* message;
    const char* body;
};

const std::vector<StepRow> step_rows{
    {"no steps", {}, {}, "F0 7D 0A 03 01 02 00 F7", "01 02"},
    {"sum-7-complement",
     {testing::check(Check::sum_7_complement, {"slot", "data"}, "check")},
     {},
     "F0 7D 0A 03 01 02 7A F7",
     "01 02"},
    {"sum-7", {testing::check(Check::sum_7, {"slot", "data"}, "check")}, {}, "F0 7D 0A 03 01 7F 03 F7", "01 7F"},
    {"xor-7", {testing::check(Check::xor_7, {"data"}, "check")}, {}, "F0 7D 0A 03 15 2A 3F F7", "15 2A"},
    {"xor-8 in a seven-bit byte keeps the low bits",
     {testing::unpack(Packing::nibbles, 0), testing::check(Check::xor_8, {"data"}, "check")},
     {},
     "F0 7D 0A 03 0F 01 08 00 71 F7",
     "F1 80"},
    {"check before unpacking",
     {testing::check(Check::sum_7, {"data"}, "check"), testing::unpack(Packing::nibbles, 0)},
     {},
     "F0 7D 0A 03 0A 05 0F F7",
     "A5"},
    {"check after unpacking",
     {testing::unpack(Packing::nibbles, 0), testing::check(Check::sum_7, {"data"}, "check")},
     {},
     "F0 7D 0A 03 0A 05 25 F7",
     "A5"},
    {"seven-in-eight, first-high",
     {testing::unpack(Packing::seven_in_eight, 0)},
     {},
     "F0 7D 0A 03 60 00 7F 01 00 F7",
     "80 FF 01"},
    {"seven-in-eight, first-low",
     {testing::unpack(Packing::seven_in_eight, 1)},
     {},
     "F0 7D 0A 03 03 00 7F 01 00 F7",
     "80 FF 01"},
    {"seven-in-eight, aux-last",
     {testing::unpack(Packing::seven_in_eight, 2)},
     {},
     "F0 7D 0A 03 00 7F 01 60 00 F7",
     "80 FF 01"},
    {"seven-in-eight, stream",
     {testing::unpack(Packing::seven_in_eight, 3)},
     {},
     "F0 7D 0A 03 40 3F 60 10 00 F7",
     "80 FF 01"},
    {"nibbles, low first", {testing::unpack(Packing::nibbles, 1)}, {}, "F0 7D 0A 03 05 0A 00 F7", "A5"},
    {"split", {testing::unpack(Packing::split, 0, {}, 4)}, {}, "F0 7D 0A 03 0A 01 05 0F 00 F7", "A5 1F"},
    {"xor", {testing::unpack(Packing::xor_key, 0, {0x5A, 0x3C})}, {}, "F0 7D 0A 03 5A 3C 5B 00 F7", "00 00 01"},
    {"xor-rolling", {testing::unpack(Packing::xor_rolling, 0, {0x5A})}, {}, "F0 7D 0A 03 5A 5A 5B 00 F7", "00 00 01"},
    {"run-length",
     {testing::unpack(Packing::run_length, 0, {0x1B})},
     {},
     "F0 7D 0A 03 01 1B 05 00 02 00 F7",
     "01 00 00 00 00 00 02"},
    // Fixed codes (RFC 1951, 3.2.6), as Python's zlib module writes them.
    {"deflate, raw, in nibbles",
     {testing::unpack(Packing::nibbles, 0)},
     {testing::unpack(Packing::deflate, 0)},
     "F0 7D 0A 03 04 0B 04 0C 08 04 00 01 00 00 00 F7",
     "61 *10"},
    {"sum on the joined data",
     {},
     {testing::check_at(Check::sum_7_complement, 0, -1, -1)},
     "F0 7D 0A 03 10 20 50 00 F7",
     "10 20 50"},
    {"check at the front",
     {testing::unpack(Packing::nibbles, 0)},
     {testing::check_at(Check::sum_8, 1, 0, 0)},
     "F0 7D 0A 03 0F 00 08 00 07 00 00 F7",
     "F0 80 70"},
    // "123456789" gives 29B1 (G. Cook, Catalogue of parametrised CRC algorithms, CRC-16/IBM-3740).
    {"CRC-16, big end first",
     {testing::unpack(Packing::seven_in_eight, 0)},
     {testing::check_at(Check::crc_16_ccitt_false, 0, -2, -2)},
     "F0 7D 0A 03 00 31 32 33 34 35 36 37 08 38 39 29 31 00 F7",
     "\"123456789\" 29 B1"},
    {"CRC-16, little end first",
     {testing::unpack(Packing::seven_in_eight, 0)},
     {testing::check_at(Check::crc_16_ccitt_false, 0, -2, -2, true)},
     "F0 7D 0A 03 00 31 32 33 34 35 36 37 10 38 39 31 29 00 F7",
     "\"123456789\" B1 29"},
};

schema::Device device_of(const StepRow& row, std::size_t size) {
    schema::Framing framing;
    framing.messages = {testing::pattern("preset", "F0 7D 0A {slot} {data...} {check} F7", row.message_steps)};
    framing.preset = {{0, false}};
    framing.steps = row.layout_steps;
    return testing::device_with(framing, size);
}

}  // namespace

TEST_CASE("every step undoes and does what the layout says", "[dump]") {
    for (const StepRow& row : step_rows) {
        CAPTURE(row.name);
        const Bytes message = from_hex(row.message);
        const Bytes body = from_hex(row.body);
        const schema::Device device = device_of(row, body.size());
        auto dump = dump::read("a.syx", message, device);
        REQUIRE(dump.ok());
        REQUIRE(dump.value().entries.size() == 1);
        dump::Entry& entry = dump.value().entries.front();
        CHECK(entry.damage == Problems{});
        CHECK(entry.slot == 3);
        CHECK(to_hex(entry.body) == to_hex(body));
        CHECK(entry.joined_as_sent.empty());
        CHECK(dump.value().messages.front().payload_as_sent.empty());
        CHECK(to_hex(dump::write(dump.value(), message).value()) == to_hex(message));
    }
}

TEST_CASE("a changed body is packed again, its checks with it", "[dump]") {
    for (const StepRow& row : step_rows) {
        CAPTURE(row.name);
        const Bytes message = from_hex(row.message);
        const Bytes body = from_hex(row.body);
        const schema::Device device = device_of(row, body.size());
        auto dump = dump::read("a.syx", message, device).value();
        for (const std::size_t at : {std::size_t{0}, body.size() / 2}) {
            Bytes& edited = dump.entries.front().body;
            edited = body;
            edited[at] ^= 0x04;
            const auto written = dump::write(dump, message);
            if (!written) {  // only a packing that depends on content may need another length
                CHECK(std::string(row.name) == "run-length");
                continue;
            }
            const auto again = dump::read("b.syx", written.value(), device);
            REQUIRE(again.ok());
            CHECK(again.value().entries.front().damage == Problems{});
            const bool holds_check =
                !row.layout_steps.empty() && std::holds_alternative<schema::CheckStep>(row.layout_steps.front());
            if (!holds_check) CHECK(to_hex(again.value().entries.front().body) == to_hex(edited));
        }
    }
}

TEST_CASE("captures of several bytes are numbers of seven bits a byte, either way round", "[dump]") {
    schema::Framing framing;
    framing.messages = {testing::pattern("preset", "F0 7D 0A {slot:2,low-first} {stamp:2} {data...} {check:3} F7",
                                         {testing::check(Check::crc_16_ccitt_false, {"data"}, "check")})};
    framing.preset = {{0, false}};
    const schema::Device device = testing::device_with(framing, 9, 2000);
    // 29B1 in three bytes of seven bits: 00 53 31.
    const Bytes message = from_hex("F0 7D 0A 02 01 04 03 \"123456789\" 00 53 31 F7");
    const auto dump = dump::read("a.syx", message, device);
    REQUIRE(dump.ok());
    const dump::Entry& entry = dump.value().entries.front();
    CHECK(entry.damage == Problems{});
    CHECK(entry.slot == 130);
    CHECK(entry.stamp == schema::Stamp{std::int64_t{515}});
    CHECK(dump::shown_slot(device, entry) == 131);
    CHECK(dump::write(dump.value(), message).value() == message);
}

TEST_CASE("other ways of packing the same bytes are kept as they were sent", "[dump]") {
    const StepRow padding{
        "", {testing::unpack(Packing::seven_in_eight, 0), testing::check(Check::sum_7, {"data"}, "check")}, {}, "", ""};
    const schema::Device device = device_of(padding, 2);
    const Bytes message = from_hex("F0 7D 0A 03 1F 01 02 03 F7");  // unused bits of the first data byte are set
    auto dump = dump::read("a.syx", message, device).value();
    CHECK(to_hex(dump.entries.front().body) == "01 02");
    CHECK(to_hex(dump.messages.front().payload_as_sent) == "1F 01 02");
    CHECK(dump::write(dump, message).value() == message);
    dump.entries.front().body = from_hex("01 82");
    CHECK(to_hex(dump::write(dump, message).value()) == "F0 7D 0A 03 20 01 02 03 F7");

    const StepRow stored{"", {testing::unpack(Packing::nibbles, 0)}, {testing::unpack(Packing::deflate, 0)}, "", ""};
    const schema::Device deflating = device_of(stored, 2);
    const Bytes block = from_hex("F0 7D 0A 03 00 01 00 02 00 00 0F 0D 0F 0F 04 01 04 02 00 F7");  // RFC 1951, 3.2.4
    auto other = dump::read("a.syx", block, deflating).value();
    CHECK(other.entries.front().damage == Problems{});
    CHECK(to_hex(other.entries.front().body) == "41 42");
    CHECK(to_hex(other.entries.front().joined_as_sent) == "01 02 00 FD FF 41 42");
    CHECK(dump::write(other, block).value() == block);
    other.entries.front().body = from_hex("43 43");
    const auto written = dump::write(other, block);
    REQUIRE(written.ok());
    CHECK(to_hex(dump::read("b.syx", written.value(), deflating).value().entries.front().body) == "43 43");
}

TEST_CASE("real-time bytes inside a message are put back", "[dump]") {
    const schema::Device device = testing::wren();
    const Bytes message = from_hex("F8 F0 F8 7D 09 FE 03 01 0A F8 F8 0B F8 F7 FE");
    auto dump = dump::read("a.syx", message, device).value();
    REQUIRE(dump.entries.size() == 1);
    CHECK(dump.entries.front().damage == Problems{});
    CHECK(dump.problems == Problems{});
    CHECK(to_hex(dump.entries.front().body) == "0A 0B");
    CHECK(dump::write(dump, message).value() == message);
    dump.entries.front().body = from_hex("0C 0D");
    CHECK(to_hex(dump::write(dump, message).value()) == "F8 F0 F8 7D 09 FE 03 01 0C F8 F8 0D F8 F7 FE");
    CHECK(dump::origins(dump, dump.entries.front(), message) == std::vector<std::size_t>{8, 11});
}

TEST_CASE("a body that no longer fits its messages is not written", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    auto dump = dump::read("bank.syx", bank, device).value();
    dump.entries[1].body.push_back(0);
    const auto written = dump::write(dump, bank);
    REQUIRE(!written.ok());
    CHECK(written.problems() ==
          Problems{{BytePlace{"bank.syx", testing::siskin_size, 0, 1},
                    "the preset no longer fits its messages: packed, it has 13 bytes", "12 bytes", ""}});
    dump.entries[1].body.resize(12);
    CHECK(!dump::write(dump, ByteView(bank).first(20)).ok());
}

TEST_CASE("every byte of a body knows where it came from", "[dump]") {
    const schema::Device device = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    const auto dump = dump::read("bank.syx", bank, device).value();
    // Slot 1: start of 11 bytes, then 8 bytes of head and the byte with the high bits before each six data bytes.
    const std::size_t first = testing::siskin_size + 11 + 8 + 1;
    std::vector<std::size_t> expected;
    for (std::size_t i = 0; i < 6; ++i) expected.push_back(first + i);
    for (std::size_t i = 0; i < 6; ++i) expected.push_back(first + 17 + i);
    CHECK(dump::origins(dump, dump.entries[1], bank) == expected);
}

}  // namespace downfit
