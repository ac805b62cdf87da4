// Which device a file belongs to, and which framing, where several releases frame their dumps in different ways.
#include "dump/dump.h"
#include "dump/show_problem.h"
#include "dump/small_devices.h"
#include "support/catch.h"
#include "support/hex.h"

namespace downfit {

namespace {

using dump::SlotState;
using midi::Check;
using testing::from_hex;

/// Linnet: 1.0 checks nothing, 1.1 puts a sum at the end of the body; the messages look alike.
schema::Device linnet() {
    schema::Framing plain;
    plain.messages = {testing::pattern("preset", "F0 7D 0B {slot} {stamp} {data...} F7")};
    plain.preset = {{0, false}};
    schema::Framing summed = plain;
    summed.steps = {testing::check_at(Check::sum_7, 0, -1, -1)};
    schema::Device device = testing::device_with(plain, 3);
    device.name = "linnet";
    testing::add_release(device, summed, 4);
    return device;
}

dump::Dump read(const schema::Device& device, const Bytes& bytes) {
    auto dump = dump::read("bank.syx", bytes, device);
    REQUIRE(dump.ok());
    return std::move(dump).value();
}

}  // namespace

TEST_CASE("the stamp says which framing a preset has", "[dump]") {
    const schema::Device device = linnet();
    const auto dump = read(device, from_hex("F0 7D 0B 00 01 10 20 30 F7  F0 7D 0B 01 02 10 20 31 61 F7"));
    REQUIRE(dump.entries.size() == 2);
    CHECK(dump.entries[0].framing == 0);
    CHECK(dump.entries[1].framing == 1);
    for (const dump::Entry& entry : dump.entries) CHECK(entry.state == SlotState::filled);
}

TEST_CASE("a failed check is no reason to take a framing without checks", "[dump]") {
    const schema::Device device = linnet();
    SECTION("where the stamp names the one with checks") {
        const auto dump = read(device, from_hex("F0 7D 0B 01 02 10 20 31 60 F7"));
        CHECK(dump.entries[0].framing == 1);
        CHECK(dump.entries[0].damage == Problems{{BytePlace{"bank.syx", 8, 1, 1},
                                                  "the check sum-7 is 60, but the bytes it covers make 61", "61", ""}});
    }
    SECTION("where the stamp names nothing, but the rest of the file is the one with checks") {
        const auto dump = read(device, from_hex("F0 7D 0B 00 02 10 20 31 61 F7  F0 7D 0B 01 7F 10 20 31 60 F7"));
        CHECK(dump.entries[0].state == SlotState::filled);
        CHECK(dump.entries[1].framing == 1);
        CHECK(dump.entries[1].state == SlotState::damaged);
    }
}

TEST_CASE("an unknown stamp leaves the choice to what fits", "[dump]") {
    const schema::Device device = linnet();
    CHECK(read(device, from_hex("F0 7D 0B 01 7F 10 20 31 61 F7")).entries[0].framing == 1);
    CHECK(read(device, from_hex("F0 7D 0B 01 7F 10 20 31 F7")).entries[0].framing == 0);
}

TEST_CASE("the device that knows most of a file is the one", "[dump]") {
    const schema::Device wren = testing::wren();
    const schema::Device siskin = testing::siskin();
    const std::vector<const schema::Device*> devices{&wren, &siskin};
    const Bytes small = from_hex("F0 7D 09 03 01 0A 0B F7");
    CHECK(dump::recognise(small, devices) == &wren);
    CHECK(dump::recognise(testing::joined({small, testing::siskin_bank()}), devices) == &siskin);
    CHECK(dump::recognise(from_hex("F0 7D 70 00 F7"), devices) == nullptr);
    CHECK(dump::recognise({}, devices) == nullptr);
}

TEST_CASE("unit settings and assets are entries of their own", "[dump]") {
    schema::Device device = testing::wren();
    schema::Framing settings;
    settings.holds = schema::Holds::unit_settings;
    settings.messages = {testing::pattern("settings", "F0 7D 09 70 7F {data...} F7")};
    settings.preset = {{0, false}};
    schema::Framing impulse;
    impulse.holds = schema::Holds::asset;
    impulse.asset = "impulse-response";
    impulse.messages = {testing::pattern("block", "F0 7D 09 71 {slot} {part} {name:4} {data...} F7")};
    impulse.preset = {{0, true}};
    for (schema::ReleaseEntry& entry : device.releases) {
        entry.schema->layouts.push_back({"settings", 1, 2, {}, {}});
        entry.schema->layouts.push_back({"impulse", 2, 4, {}, {}});
    }
    device.framings.push_back(settings);
    device.framings.push_back(impulse);
    device.assets = {{"impulse-response", "impulse response", 101, 8, {}}};
    const auto dump = read(device, from_hex("F0 7D 09 70 7F 01 02 F7  F0 7D 09 02 01 03 04 F7 "
                                            "F0 7D 09 71 02 00 \"Oak \" 01 02 F7  F0 7D 09 71 02 01 \"Oak \" 03 04 F7 "
                                            "F0 7D 09 71 03 00 \"Elm \" 05 06 F7"));
    REQUIRE(dump.entries.size() == 4);
    CHECK(dump.problems == Problems{});
    CHECK(dump.entries[0].framing == 1);
    CHECK(dump.entries[0].layout == 1);
    CHECK(dump.entries[0].slot == -1);
    CHECK(dump.entries[1].slot == 2);
    CHECK(testing::to_hex(dump.entries[2].body) == "01 02 03 04");
    CHECK(dump.entries[2].damage == Problems{});
    CHECK(dump::shown_slot(device, dump.entries[2]) == 103);
    CHECK(dump::captured_name(dump, dump.entries[2]) == "Oak");
    CHECK(dump::captured_name(dump, dump.entries[1]).empty());
    CHECK(testing::to_hex(dump.entries[3].body) == "05 06");
}

TEST_CASE("messages that make no preset do not disturb one", "[dump]") {
    schema::Device device = testing::siskin();
    device.framings.front().messages.push_back(testing::pattern("wish", "F0 7D 06 {unit} 10 {slot:2} F7"));
    const Bytes wish = from_hex("F0 7D 06 00 10 00 01 F7");
    const Bytes bank = testing::siskin_bank();
    const Bytes bytes =
        testing::joined({wish, {bank.begin(), bank.begin() + 28}, wish, {bank.begin() + 28, bank.end()}});
    const auto dump = read(device, bytes);
    REQUIRE(dump.entries.size() == 3);
    CHECK(dump.problems == Problems{});
    for (const dump::Entry& entry : dump.entries) CHECK(entry.state == SlotState::filled);
    CHECK(dump.entries[0].messages == std::vector<std::size_t>{1, 2, 4, 5});
    CHECK(dump::write(dump, bytes).value() == bytes);
}

}  // namespace downfit
