// Coverage: what of presets is explained, what varies, and what the release does not expect.
#include "study/coverage.h"

#include <string>

#include "dump/tree.h"
#include "study/study_devices.h"
#include "support/catch.h"
#include "support/demo_files.h"

namespace downfit::testing {

namespace {

using study::Look;

/// One letter a byte: = framing, - same, # varying, % partly, . unknown, ? unknown and varying.
std::string looks(const study::Covered& part) {
    std::string text;
    for (const study::SeenByte& byte : part.bytes) text += "=-#%.?"[static_cast<std::size_t>(byte.look)];
    return text;
}

study::Coverage coverage_of(const schema::Device& device, const Bytes& bytes) {
    const dump::Dump dump = read_dump(bytes, device);
    study::Readers readers(device);
    return study::find_coverage({&dump}, readers, {});
}

}  // namespace

TEST_CASE("every byte of a fixed body looks as it is", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    Bytes other = knot_with(knot_calm, 1, 77);  // the counter
    other = knot_with(other, 2, 90);            // volume
    other = knot_with(other, 4, 0x31);          // above the four bits of `time`
    other = knot_with(other, 13, 5);            // nobody's
    const study::Coverage coverage = coverage_of(device, in_a_row({knot_preset(0, knot_calm), knot_preset(1, other)}));
    REQUIRE(coverage.parts.size() == 1);
    const study::Covered& part = coverage.parts.front();
    CHECK(looks(part) == "==#-%-------.?.=");
    CHECK(part.presets == 2);
    CHECK(part.body_bytes == 32);
    CHECK(part.explained_bytes == 26);
    CHECK(part.unexplained() == 3);
    CHECK(part.unexplained_varying() == 1);
    CHECK(part.bytes[4].explained == 0x0F);
    CHECK(part.bytes[4].differing == 0x30);
    CHECK(part.bytes[13].least == 0);
    CHECK(part.bytes[13].most == 5);
}

TEST_CASE("what is beyond range, unknown choices, and what never moves", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    const study::Coverage coverage =
        coverage_of(device, in_a_row({knot_preset(0, knot_with(knot_calm, 2, 101)),
                                      knot_preset(3, knot_with(knot_with(knot_calm, 2, 120), 3, 4))}));
    const study::Covered& part = coverage.parts.front();
    REQUIRE(part.beyond.size() == 2);
    CHECK(part.beyond[0].parameter == "volume");
    CHECK(part.beyond[0].least == "101");
    CHECK(part.beyond[0].most == "120");
    CHECK(part.beyond[0].expected == "0..100");
    CHECK(part.beyond[0].presets == 2);
    CHECK(part.beyond[0].slot == 1);
    CHECK(part.beyond[1].parameter == "mode");
    CHECK(part.beyond[1].least == "number 4");
    CHECK(part.beyond[1].slot == 4);
    REQUIRE(part.unmoved.size() == 3);
    CHECK(part.unmoved[0].parameter == "time");
    CHECK_FALSE(part.unmoved[0].at_default);
    CHECK(part.unmoved[0].value == "1");
    CHECK(part.unmoved[1].parameter == "on");
    CHECK(part.unmoved[1].at_default);
    CHECK(part.unmoved[2].parameter == "name");
}

TEST_CASE("bytes of records are the same place wherever they stand", "[study]") {
    const schema::Device device = device_of({serin_device, serin_release});
    // volume, drive (gain, tone); then drive without tone before volume, and a record that nobody takes.
    const Bytes first{1, 1, 100, 16, 6, 1, 1, 50, 2, 1, 7};
    const Bytes second{16, 3, 1, 1, 60, 1, 1, 100, 9, 2, 4, 5};
    const study::Coverage coverage = coverage_of(device, in_a_row({serin_preset(0, first), serin_preset(1, second)}));
    REQUIRE(coverage.parts.size() == 1);
    std::string told;
    for (const study::SeenByte& byte : coverage.parts.front().bytes) {
        if (byte.place.part != study::Place::Part::value) continue;
        told += study::place_text(byte.place) + ' ' + "=-#%.?"[static_cast<std::size_t>(byte.look)] + '\n';
    }
    CHECK(told ==
          "byte 0 =\n"
          "record 1 byte 0 -\n"
          "record 9 byte 0 ?\n"
          "record 9 byte 1 ?\n"
          "record 16.1 byte 0 #\n"
          "record 16.2 byte 0 -\n");
    CHECK(coverage.parts.front().unexplained() == 4);  // its head, too
    CHECK(coverage.parts.front().names.at({{16, 2}}) == "drive[2]");
}

TEST_CASE("presets without a release file, damaged ones and empty dumps are counted, not explained", "[study]") {
    const schema::Device device = device_of({knot_device, knot_release});
    Bytes unknown = knot_preset(0, knot_calm);
    unknown[5] = 2;                                                 // the stamp's low half
    unknown[unknown.size() - 3] = 1 + unknown[unknown.size() - 3];  // and the sum that holds it
    unknown[unknown.size() - 2] = (unknown[unknown.size() - 2] + 2) & 0x7F;
    Bytes damaged = knot_preset(2, knot_calm);
    damaged[8] ^= 1;
    const study::Coverage coverage = coverage_of(device, in_a_row({unknown, knot_preset(1, knot_calm), damaged}));
    CHECK(coverage.without_release == 1);
    CHECK(coverage.damaged == 1);
    REQUIRE(coverage.parts.size() == 1);
    CHECK(coverage.parts.front().presets == 1);
}

TEST_CASE("the demo's numbers are those that dump/ counts byte by byte", "[study]") {
    for (const auto& [folder, file] : {std::pair("dunlin-6", "bank-a.syx"), std::pair("pipit", "pipit-b.syx")}) {
        CAPTURE(file);
        const schema::Device device = load_device_folder(folder);
        const Bytes bytes = demo_dump(file);
        const dump::Dump dump = read_demo_dump(file, bytes, device);
        study::Readers readers(device);
        const study::Coverage coverage = study::find_coverage({&dump}, readers, {});
        std::size_t all = 0, explained = 0;
        for (const study::Covered& part : coverage.parts) {
            all += part.body_bytes;
            explained += part.explained_bytes;
        }
        std::size_t bodies = 0, gaps = 0;
        for (const dump::Entry& entry : dump.entries) {
            const auto release = study::saving_release(device, entry, std::nullopt);
            if (entry.state != dump::SlotState::filled || !release) continue;
            bodies += entry.body.size();
            gaps += dump::unexplained_bytes(readers.of(*release), entry.layout, ByteView(entry.body), &device).size();
        }
        CHECK(bodies > 0);
        CHECK(all == bodies);
        CHECK(explained == bodies - gaps);
    }
}

}  // namespace downfit::testing
