// Images of many presets: what is cut from where, and what is said of damage, word for word.
#include <algorithm>

#include "dump/dump.h"
#include "dump/image_devices.h"
#include "dump/show_problem.h"
#include "dump/small_devices.h"
#include "dump/steps.h"
#include "support/catch.h"
#include "support/hex.h"

namespace downfit {

namespace {

using dump::SlotState;
using testing::ImageSample;
using testing::piece;
using testing::to_hex;

Problem in_image(std::size_t offset, std::size_t length, std::string what, std::string expected = "", int slot = -1) {
    return {BytePlace{"image.syx", offset, length, slot}, std::move(what), std::move(expected), ""};
}

std::set<int> damaged_slots(const dump::Dump& dump) {
    std::set<int> slots;
    for (const dump::Entry& entry : dump.entries) {
        if (entry.state == SlotState::damaged) slots.insert(entry.slot);
    }
    return slots;
}

/// Where part n of the addressed sample begins.
constexpr std::size_t part_at(std::size_t n) {
    return n * (2 * 16 + 7);
}

}  // namespace

TEST_CASE("many presets are cut out of one message", "[dump]") {
    const ImageSample sample = testing::one_message();
    const auto dump = testing::read_sample(sample, sample.bytes);
    REQUIRE(dump.entries.size() == 4);
    CHECK(dump.images.size() == 1);
    CHECK(dump.entries[1].slot == 1);
    CHECK(dump.entries[1].body == testing::ramp(6, 7 + 6 * 29, 29));
    CHECK(dump.entries[1].stamp == schema::Stamp{std::int64_t{1}});
    CHECK(dump.entries[1].messages == std::vector<std::size_t>{0});
    CHECK(dump.entries[1].cut->pieces == std::vector<ByteSpan>{{6, 6}});
}

TEST_CASE("pieces come from tables that grow either way, across messages", "[dump]") {
    const ImageSample sample = testing::addressed();
    const auto dump = testing::read_sample(sample, sample.bytes);
    REQUIRE(dump.entries.size() == 5);
    const Bytes image = testing::ramp(60, 3, 41);
    CHECK(dump.entries[4].body == testing::joined({piece(image, 16, 20), piece(image, 20, 28)}));
    CHECK(dump.entries[1].body == testing::joined({piece(image, 4, 8), piece(image, 44, 52)}));
    CHECK(dump.entries[1].messages == std::vector<std::size_t>{0, 2, 3});
    const auto origins = dump::origins(dump, dump.entries[1], sample.bytes);
    CHECK(origins[0] == 5 + 2 * 4);
    CHECK(origins[4] == part_at(2) + 5 + 2 * 12);
    CHECK(origins[11] == part_at(3) + 5 + 2 * 3);
}

TEST_CASE("parts that are missing, doubled or contradictory spoil what they touch", "[dump]") {
    const ImageSample sample = testing::addressed();
    const Bytes& bytes = sample.bytes;
    SECTION("missing") {
        const Bytes cut = testing::joined({piece(bytes, 0, part_at(1)), piece(bytes, part_at(2), bytes.size())});
        const auto dump = testing::read_sample(sample, cut);
        CHECK(damaged_slots(dump) == std::set<int>{3, 4});
        CHECK(testing::entry_of(dump, 3)->damage ==
              Problems{in_image(part_at(1), 0, "bytes 0010 to 001F of the image are missing", "", 3)});
        CHECK(dump::write(dump, cut).value() == cut);
    }
    SECTION("missing, where only parts that hold something are sent") {
        // Parts are 16 bytes: presets 0 to 3 have their first pieces at 0, 4, 8, 12, preset 4 at 16; the second ones at
        // 52, 44, 36, 28, 20. By hand: without the second part preset 4 has nothing and preset 3 lacks half.
        ImageSample sparse = sample;
        sparse.device.framings.front().image->sparse = true;
        const Bytes cut = testing::joined({piece(bytes, 0, part_at(1)), piece(bytes, part_at(2), bytes.size())});
        const auto dump = testing::read_sample(sparse, cut);
        CHECK(testing::entry_of(dump, 4) == nullptr);
        CHECK(damaged_slots(dump) == std::set<int>{3});
        CHECK(testing::entry_of(dump, 3)->damage ==
              Problems{in_image(part_at(1), 0, "bytes 0010 to 001F of the image are missing", "", 3)});
        CHECK(dump.problems.empty());
        CHECK(dump::absent_slots(dump) == std::vector<int>{sparse.device.slots.first + 4});
        CHECK(dump::write(dump, cut).value() == cut);
        const auto whole = testing::read_sample(sparse, bytes);
        CHECK(whole.entries.size() == 5);
        CHECK(damaged_slots(whole).empty());
    }
    SECTION("the same part twice") {
        const Bytes twice = testing::joined({bytes, piece(bytes, part_at(1), part_at(2))});
        const auto dump = testing::read_sample(sample, twice);
        CHECK(damaged_slots(dump).empty());
        CHECK(
            dump.problems ==
            Problems{in_image(bytes.size(), 39,
                              "message \"part\": bytes 0010 to 001F of the image come twice, with the same content")});
        auto changed = dump;
        changed.entries[4].body[0] ^= 1;
        const auto written = dump::write(changed, twice).value();
        CHECK(damaged_slots(testing::read_sample(sample, written)).empty());
    }
    SECTION("two contents for one part") {
        const auto& framing = sample.device.framings.front();
        const Bytes other = testing::message(framing, 0, {{0, 4}}, testing::ramp(16, 1, 1));
        const Bytes both = testing::joined({bytes, other});
        const auto dump = testing::read_sample(sample, both);
        CHECK(damaged_slots(dump) == std::set<int>{3, 4});
        CHECK(testing::entry_of(dump, 4)->damage.front() ==
              in_image(bytes.size(), 39,
                       "message \"part\": bytes 0010 to 001F of the image come twice, with different content", "", 4));
        CHECK(dump::write(dump, both).value() == both);
    }
    SECTION("beyond the image") {
        const auto& framing = sample.device.framings.front();
        const Bytes beyond = testing::joined({bytes, testing::message(framing, 0, {{0, 14}}, testing::ramp(16, 1, 1))});
        const auto dump = testing::read_sample(sample, beyond);
        CHECK(damaged_slots(dump).empty());
        CHECK(dump.problems ==
              Problems{in_image(bytes.size(), 39, "message \"part\" reaches beyond the image's end", "at most 003C")});
    }
    SECTION("in any order") {
        const Bytes turned = testing::joined({piece(bytes, part_at(2), bytes.size()), piece(bytes, 0, part_at(2))});
        const auto dump = testing::read_sample(sample, turned);
        CHECK(damaged_slots(dump).empty());
        CHECK(dump.problems == Problems{});
    }
}

TEST_CASE("gaps that no preset needs are not worth a word", "[dump]") {
    ImageSample sample = testing::addressed();
    sample.device.framings.front().image->size = 80;
    const auto dump = testing::read_sample(sample, sample.bytes);
    CHECK(dump.problems == Problems{});
    CHECK(damaged_slots(dump).empty());
}

TEST_CASE("shared blocks are written once, or not at all", "[dump]") {
    const ImageSample sample = testing::shared_blocks();
    auto dump = testing::read_sample(sample, sample.bytes);
    CHECK(dump.entries[0].body[5] == dump.entries[3].body[5]);
    SECTION("both changed") {
        dump.entries[0].body[5] = dump.entries[3].body[5] = 0x77;
        const auto again = testing::read_sample(sample, dump::write(dump, sample.bytes).value());
        CHECK(again.entries[3].body[5] == 0x77);
    }
    SECTION("only one changed") {
        dump.entries[0].body[5] ^= 1;
        const auto written = dump::write(dump, sample.bytes);
        REQUIRE(!written.ok());
        CHECK(written.problems().front() ==
              in_image(0, 0, "the preset shares byte 20 of the image with slot 0, which holds another value there",
                       "the same value in both", 3));
    }
    SECTION("another block chosen") {
        dump.entries[3].body = testing::joined({piece(dump.entries[3].body, 0, 4), piece(dump.entries[1].body, 4, 11)});
        const auto again = testing::read_sample(sample, dump::write(dump, sample.bytes).value());
        CHECK(again.entries[3].body == dump.entries[3].body);
    }
}

TEST_CASE("slots that were never written are empty, whatever junk they hold", "[dump]") {
    ImageSample sample = testing::shared_blocks();
    schema::Framing& framing = sample.device.framings.front();
    Bytes image = testing::ramp(38, 9, 53);
    for (std::size_t i = 0; i < 4; ++i) image[i * 5 + 4] = i == 2 ? 0xEE : 0;
    for (std::size_t i = 0; i < 4; ++i) image[i * 5] = i < 2 ? 0x50 : 0x11;
    const Bytes bytes = testing::joined({testing::message(framing, 0, {{0}}, piece(image, 0, 19)),
                                         testing::message(framing, 0, {{1}}, piece(image, 19, 38))});
    const auto without = testing::read_sample(sample, bytes);
    CHECK(damaged_slots(without) == std::set<int>{2});
    CHECK(without.entries[2].damage ==
          Problems{in_image(4, 0, "a piece of the preset lies outside the image", "inside 38 bytes", 2)});
    framing.filled = schema::BodyBytes{0, {0x50}};
    framing.empty = {schema::BodyBytes{1, {0x00}}, schema::BodyBytes{1, {image[6]}}};
    const auto dump = testing::read_sample(sample, bytes);
    CHECK(dump.entries[0].state == SlotState::filled);
    CHECK(dump.entries[1].state == SlotState::empty);
    CHECK(dump.entries[2].state == SlotState::empty);
    CHECK(dump.entries[3].state == SlotState::empty);
    CHECK(dump::write(dump, bytes).value() == bytes);
}

TEST_CASE("an unfinished part of known length spoils only its own presets", "[dump]") {
    schema::Framing framing;
    framing.messages = {testing::pattern("part", "F0 7D 25 {data...} F7")};
    framing.image.emplace();
    framing.image->of = {{0, true}};
    framing.presets = {{3, 10, {{0, 4, 4, {}}}}};
    const Bytes broken = testing::from_hex("F0 7D 25 01 02 03 04 F7 F0 7D 25 05 06 F0 7D 25 09 0A 0B 0C F7");
    SECTION("of unknown length, all that follow") {
        const ImageSample sample{"", testing::device_with(framing, 4), broken, "", true, {}};
        CHECK(damaged_slots(testing::read_sample(sample, broken)) == std::set<int>{11, 12});
    }
    SECTION("of known length") {
        framing.image->size = 12;
        const ImageSample sample{"", testing::device_with(framing, 4), broken, "", true, {}};
        const auto dump = testing::read_sample(sample, broken);
        CHECK(damaged_slots(dump) == std::set<int>{11});
        CHECK(to_hex(testing::entry_of(dump, 12)->body) == "09 0A 0B 0C");
        CHECK(dump::write(dump, broken).value() == broken);
    }
}

TEST_CASE("a header's stamp holds for all presets after it", "[dump]") {
    const ImageSample sample = testing::with_header();
    const auto dump = testing::read_sample(sample, sample.bytes);
    REQUIRE(dump.entries.size() == 3);
    for (const dump::Entry& entry : dump.entries) CHECK(entry.stamp == schema::Stamp{std::int64_t{1}});
    SECTION("not where its check fails") {
        Bytes changed = sample.bytes;
        changed[5] = 2;
        const auto other = testing::read_sample(sample, changed);
        for (const dump::Entry& entry : other.entries) CHECK(!entry.stamp);
        CHECK(
            other.problems ==
            Problems{in_image(
                6, 1, "message \"header\": the check sum-7-complement is 7F, but the bytes it covers make 7E", "7E")});
    }
    SECTION("not where it is missing") {
        const auto other = testing::read_sample(sample, piece(sample.bytes, 8, sample.bytes.size()));
        CHECK(!other.entries[0].stamp);
        CHECK(other.problems == Problems{in_image(0, 0, "message \"header\" is missing before this")});
    }
}

TEST_CASE("raw files are known by their first bytes or by name", "[dump]") {
    const ImageSample named = testing::headerless();
    CHECK(dump::recognise(named.bytes, {&named.device}) == nullptr);
    CHECK(dump::recognise(named.bytes, {&named.device}, "other") == nullptr);
    CHECK(dump::recognise({}, {&named.device}, "bank") == nullptr);
    const auto refused = dump::read("image.syx", named.bytes, named.device);
    REQUIRE(!refused.ok());
    CHECK(refused.problems().front().remedy == "name the layout of a file without framing (--layout)");
    const auto unknown = dump::read("image.syx", named.bytes, named.device, "other");
    REQUIRE(!unknown.ok());
    CHECK(unknown.problems().front().what == "pipit has no layout \"other\"");
    const auto whole = testing::read_sample(named, named.bytes);
    REQUIRE(whole.entries.size() == 1);
    CHECK(whole.entries[0].body == named.bytes);
    CHECK(whole.spans.front().kind == dump::Span::Kind::image);
    const ImageSample sample = testing::raw_file();
    auto dump = testing::read_sample(sample, sample.bytes);
    REQUIRE(dump.entries.size() == 2);
    CHECK(dump::origins(dump, dump.entries[1], sample.bytes)[2] == 14);
    Bytes changed = sample.bytes;
    changed[13] ^= 1;
    const auto damaged = testing::read_sample(sample, changed);
    CHECK(damaged_slots(damaged) == std::set<int>{1});
    CHECK(std::get<BytePlace>(damaged.entries[1].damage.front().place).offset == 19);
    auto edited = damaged;
    edited.entries[0].body[1] ^= 1;
    const Bytes written = dump::write(edited, changed).value();
    CHECK(damaged_slots(testing::read_sample(sample, written)) == std::set<int>{1});
    CHECK(piece(written, 12, 20) == piece(changed, 12, 20));
}

TEST_CASE("an encrypted layer leaves its presets undecided and its bytes alone", "[dump]") {
    schema::Framing framing;
    framing.messages = {testing::pattern(
        "preset", "F0 7D 26 {slot} {data...} {check} F7",
        {testing::check(midi::Check::sum_7, {"data"}, "check"), testing::unpack(schema::UnpackStep::Packing::encrypted),
         testing::unpack(schema::UnpackStep::Packing::nibbles)})};
    framing.preset = {{0, false}};
    const Bytes bytes = testing::from_hex("F0 7D 26 02 01 02 03 06 F7");
    const auto device = testing::device_with(framing, 4);
    const auto dump = dump::read("image.syx", bytes, device).value();
    REQUIRE(dump.entries.size() == 1);
    CHECK(dump.entries[0].slot == 2);
    CHECK(dump.entries[0].damage ==
          Problems{in_image(4, 3, "message \"preset\": encrypted layer: cannot be read", "", 2)});
    CHECK(dump::write(dump, bytes).value() == bytes);
    framing.messages.front().steps.pop_back();
    framing.messages.front().steps.pop_back();
    framing.steps = {testing::unpack(schema::UnpackStep::Packing::encrypted)};
    framing.presets = {{2, 0, {{0, 1, 1, {}}}}};
    const auto of_bank = testing::device_with(framing, 1);
    const auto bank = dump::read("image.syx", bytes, of_bank).value();
    CHECK(damaged_slots(bank) == std::set<int>{0, 1});
    CHECK(dump::write(bank, bytes).value() == bytes);
}

TEST_CASE("lengths are verified and made anew", "[dump]") {
    schema::Framing framing;
    framing.messages = {testing::pattern("preset", "F0 7D 27 {length:2} {slot} {data...} {check} F7",
                                         {testing::check(midi::Check::sum_7, {"length", "slot", "data"}, "check"),
                                          testing::length({"slot", "data"}, "length", 2)})};
    framing.preset = {{0, false}};
    framing.steps = {testing::length_at(1, 0, 0, 1),
                     testing::unpack(schema::UnpackStep::Packing::run_length, 0, {0x1B})};
    const auto device = testing::device_with(framing, 0);
    const Bytes joined = dump::write_layout_steps(framing.steps, {0, 9, 9, 9, 9, 9, 9, 4}).value();
    const Bytes bytes = testing::message(framing, 0, {{0, 0}, {5}}, joined);
    auto dump = dump::read("image.syx", bytes, device).value();
    CHECK(dump.entries[0].damage == Problems{});
    CHECK(dump::write(dump, bytes).value() == bytes);
    SECTION("a wrong one is told like a check") {
        Bytes changed = bytes;
        changed[4] = static_cast<std::uint8_t>(changed[4] + 1);
        changed[changed.size() - 2] = static_cast<std::uint8_t>(changed[changed.size() - 2] + 1);
        const auto wrong = dump::read("image.syx", changed, device).value();
        REQUIRE(wrong.entries[0].damage.size() == 1);
        CHECK(wrong.entries[0].damage.front().what.starts_with("message \"preset\": the length is told as "));
        CHECK(dump::write(wrong, changed).value() == changed);
    }
    SECTION("another body has another length") {
        dump.entries[0].body = {0, 1, 2, 3, 4, 5, 6, 7};
        const Bytes written = dump::write(dump, bytes).value();
        CHECK(written.size() != bytes.size());
        CHECK(dump::read("image.syx", written, device).value().entries[0].damage == Problems{});
    }
}

}  // namespace downfit
