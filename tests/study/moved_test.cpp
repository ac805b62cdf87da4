// Moved: which bytes and bits differ between two dumps, whose they are, and what does not count.
#include "study/moved.h"

#include <algorithm>
#include <string>

#include "study/study_devices.h"
#include "support/catch.h"
#include "support/property.h"

namespace downfit::testing {

namespace {

study::Moved moved_between(const schema::Device& device, const Bytes& a, const Bytes& b) {
    const dump::Dump before = read_dump(a, device);
    const dump::Dump after = read_dump(b, device);
    study::Readers readers(device);
    return study::find_moved({before, a}, {after, b}, readers);
}

std::vector<std::string> asides(const study::MovedEntry& entry) {
    std::vector<std::string> lines;
    for (const study::MovedAside& aside : entry.aside) lines.push_back(aside.what);
    return lines;
}

}  // namespace

TEST_CASE("one knob turned: its byte, its bits, its place in both files, its parameter", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    const Bytes a = in_a_row({knot_preset(0, knot_calm), knot_preset(1, knot_calm)});
    const Bytes b =
        in_a_row({knot_preset(0, knot_calm), knot_preset(1, knot_with(knot_with(knot_calm, 1, 12), 2, 91))});
    const study::Moved moved = moved_between(device, a, b);
    CHECK(moved.compared == 2);
    REQUIRE(moved.entries.size() == 1);
    const study::MovedEntry& entry = moved.entries.front();
    CHECK(entry.slot_after == 2);
    CHECK(entry.name == "Alder");
    CHECK(entry.read_as == "1");
    CHECK(entry.bytes_moved() == 1);
    REQUIRE(entry.runs.size() == 1);
    const study::MovedRun& run = entry.runs.front();
    REQUIRE(run.bytes.size() == 1);
    CHECK(run.bytes[0].place.byte == 2);
    CHECK(run.bytes[0].before == 80);
    CHECK(run.bytes[0].after == 91);
    // The high half of byte 2 stands behind F0 7D 0B, the slot and four halves.
    CHECK(run.bytes[0].file_after == 38 + 8);
    CHECK(run.whole_explained);
    REQUIRE(run.parameters.size() == 1);
    CHECK(run.parameters[0].parameter == "volume");
    CHECK(run.parameters[0].value_before == "80");
    CHECK(run.parameters[0].value_after == "91");
    CHECK(asides(entry) == std::vector<std::string>{"changes by itself (volatile)", "check or length of the layout",
                                                    "check \"check\" of message \"preset\""});
}

TEST_CASE("a framing alone is enough", "[study]") {
    const schema::Device device = device_of({knot_device});
    const study::Moved moved =
        moved_between(device, knot_preset(0, knot_calm), knot_preset(0, knot_with(knot_with(knot_calm, 1, 10), 2, 91)));
    REQUIRE(moved.entries.size() == 1);
    CHECK(moved.entries[0].read_as.empty());
    REQUIRE(moved.entries[0].runs.size() == 1);
    CHECK(moved.entries[0].runs[0].parameters.empty());
    CHECK_FALSE(moved.entries[0].runs[0].whole_explained);
    CHECK(moved.entries[0].runs[0].readings.front().after == "91");
    CHECK(moved.entries[0].aside.size() == 3);
}

TEST_CASE("bits beside a parameter's own are not explained by it", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    const study::Moved moved =
        moved_between(device, knot_preset(0, knot_calm), knot_preset(0, knot_with(knot_calm, 4, 0x42)));
    const study::MovedRun& run = moved.entries.at(0).runs.at(0);
    REQUIRE(run.parameters.size() == 1);
    CHECK(run.parameters[0].parameter == "time");
    CHECK_FALSE(run.whole_explained);
}

TEST_CASE("only a counter moved: nothing counts", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    const study::Moved moved =
        moved_between(device, knot_preset(0, knot_calm), knot_preset(0, knot_with(knot_calm, 1, 10)));
    REQUIRE(moved.entries.size() == 1);
    CHECK_FALSE(moved.entries[0].moved());
    CHECK(moved_between(device, knot_preset(0, knot_calm), knot_preset(0, knot_calm)).entries.empty());
}

TEST_CASE("a preset alone in each dump is compared whatever its slot; slots that only one has are named", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    const study::Moved alone =
        moved_between(device, knot_preset(0, knot_calm), knot_preset(5, knot_with(knot_calm, 2, 1)));
    REQUIRE(alone.entries.size() == 1);
    CHECK(alone.entries[0].slot_before == 1);
    CHECK(alone.entries[0].slot_after == 6);
    const study::Moved more = moved_between(device, in_a_row({knot_preset(0, knot_calm), knot_preset(1, knot_calm)}),
                                            in_a_row({knot_preset(1, knot_calm), knot_preset(2, knot_calm)}));
    CHECK(more.compared == 1);
    CHECK(more.only_before == std::vector<int>{1});
    CHECK(more.only_after == std::vector<int>{3});
}

TEST_CASE("a damaged preset is not compared", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    Bytes damaged = knot_preset(0, knot_calm);
    damaged[8] ^= 1;
    const study::Moved moved = moved_between(device, knot_preset(0, knot_calm), damaged);
    CHECK(moved.damaged == 1);
    CHECK(moved.compared == 0);
    CHECK(moved.entries.empty());
}

TEST_CASE("records: values that moved, records that are new, lengths that followed", "[study]") {
    const schema::Device device = device_of({serin_device, serin_release});
    const Bytes first{1, 1, 100, 16, 3, 1, 1, 50};
    const Bytes second{1, 1, 100, 16, 6, 1, 1, 55, 2, 1, 7};
    const study::Moved moved = moved_between(device, serin_preset(0, first), serin_preset(0, second));
    REQUIRE(moved.entries.size() == 1);
    const study::MovedEntry& entry = moved.entries.front();
    REQUIRE(entry.runs.size() == 1);
    CHECK(study::place_text(entry.runs[0].bytes[0].place) == "record 16.1 byte 0");
    CHECK(entry.runs[0].parameters.at(0).parameter == "drive[1].gain");
    REQUIRE(entry.records.size() == 1);
    CHECK(study::records_text(entry.records[0].records) == "16.2");
    CHECK(entry.records[0].appeared);
    CHECK(entry.records[0].parameters.at(0).parameter == "drive[1].tone");
    CHECK(entry.records[0].parameters.at(0).stored_before.empty());
    CHECK(asides(entry) == std::vector<std::string>{"head of record 16"});
}

TEST_CASE("whatever moves is told, byte by byte", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    holds("all bytes that differ, and no other, are in runs or aside", [&] {
        const auto byte = rc::gen::arbitrary<std::uint8_t>();
        const Bytes before = *rc::gen::container<Bytes>(14, byte);
        Bytes after = before;
        for (const std::size_t at :
             *rc::gen::container<std::vector<std::size_t>>(3, rc::gen::inRange<std::size_t>(0, 14)))
            after[at] = *byte;
        const study::Moved moved = moved_between(device, knot_preset(0, before), knot_preset(0, after));
        std::vector<bool> told(14, false);
        for (const study::MovedEntry& entry : moved.entries) {
            for (const study::MovedRun& run : entry.runs) {
                for (const study::MovedByte& one : run.bytes) {
                    RC_ASSERT(one.before == before[one.place.byte - 1]);
                    RC_ASSERT(one.after == after[one.place.byte - 1]);
                    told[one.place.byte - 1] = true;
                }
                // A reading says the number that its storage reads.
                for (const study::Reading& reading : run.readings)
                    RC_ASSERT(!reading.before.empty() || reading.storage);
            }
        }
        for (std::size_t i = 0; i < 14; ++i) {
            const bool counter = i == 0;  // volatile
            RC_ASSERT(told[i] == (before[i] != after[i] && !counter));
        }
    });
}

}  // namespace downfit::testing
