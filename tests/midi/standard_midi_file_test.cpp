// Standard MIDI Files, against the published rows.
//
// Sources: [SMF] is the Standard MIDI-File Format Specification 1.1, [M1] the MIDI 1.0 Detailed Specification 4.2.1.

#include "midi/standard_midi_file.h"

#include <string>
#include <vector>

#include "problem_text.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::midi;
using testing::from_hex;
using testing::to_hex;

namespace {

std::string hex_number(std::size_t value, int bytes) {
    Bytes text;
    for (int i = bytes - 1; i >= 0; --i) text.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
    return to_hex(text) + ' ';
}

std::string track(const std::string& events) {
    return "4D 54 72 6B " + hex_number(from_hex(events).size(), 4) + events + ' ';
}

/// A file of format 0 with these events and the end of the track.
Bytes one_track(const std::string& events) {
    return from_hex("4D 54 68 64 00 00 00 06 00 00 00 01 00 60 " + track(events + " 00 FF 2F 00"));
}

/// Its messages as they are sent, with tick and "escape", and what was noticed: "@0 F0 7D F7; ! text at 22".
std::string listed(const Bytes& bytes) {
    Problems noticed;
    const Result<StandardMidiFile> file = read_standard_midi_file(bytes, noticed);
    if (!file) return "no file: " + file.problems().front().what;
    std::string text;
    for (const FileMessage& message : file.value().messages) {
        text += (text.empty() ? "@" : "; @") + std::to_string(message.tick) + (message.escape ? " escape " : " ");
        text += to_hex(stream_of(std::span(&message, 1), bytes));
    }
    for (const Problem& problem : noticed) {
        text += (text.empty() ? "! " : "; ! ") + problem.what;
        text += " at " + std::to_string(std::get<BytePlace>(problem.place).offset);
    }
    return text;
}

}  // namespace

TEST_CASE("variable-length quantities are read as published") {  // [SMF] 1.1
    const auto [bytes, value] = GENERATE(table<const char*, std::uint32_t>({
        {"00", 0},
        {"40", 0x40},
        {"7F", 0x7F},
        {"81 00", 0x80},
        {"C0 00", 0x2000},
        {"FF 7F", 0x3FFF},
        {"81 80 00", 0x4000},
        {"C0 80 00", 0x100000},
        {"FF FF 7F", 0x1FFFFF},
        {"81 80 80 00", 0x200000},
        {"C0 80 80 00", 0x8000000},
        {"FF FF FF 7F", 0xFFFFFFF},
    }));
    CAPTURE(bytes);
    const Result<Quantity> read = read_quantity(from_hex(bytes));
    REQUIRE(read.ok());
    CHECK(read.value().value == value);
    CHECK(read.value().length == from_hex(bytes).size());
}

TEST_CASE("a quantity that does not end is none") {  // [SMF] 1.1: FFFFFFF is the largest, four bytes the most
    CHECK_FALSE(read_quantity(from_hex("FF FF FF FF 7F")).ok());
    CHECK_FALSE(read_quantity(from_hex("81 80")).ok());
    CHECK_FALSE(read_quantity({}).ok());
}

TEST_CASE("the standard's two example files are read") {  // [SMF] appendix 2
    const Bytes format_0 = from_hex(
        "4D 54 68 64 00 00 00 06 00 00 00 01 00 60 4D 54 72 6B 00 00 00 3B 00 FF 58 04 04 02 18 08 00 FF 51 03 07 A1 "
        "20 "
        "00 C0 05 00 C1 2E 00 C2 46 00 92 30 60 00 3C 60 60 91 43 40 60 90 4C 20 81 40 82 30 40 00 3C 40 00 81 43 40 "
        "00 80 4C 40 00 FF 2F 00");
    REQUIRE(format_0.size() == 81);
    const Bytes format_1 = from_hex(
        "4D 54 68 64 00 00 00 06 00 01 00 04 00 60 4D 54 72 6B 00 00 00 14 00 FF 58 04 04 02 18 08 00 FF 51 03 07 A1 "
        "20 "
        "83 00 FF 2F 00 4D 54 72 6B 00 00 00 10 00 C0 05 81 40 90 4C 20 81 40 4C 00 00 FF 2F 00 "
        "4D 54 72 6B 00 00 00 0F 00 C1 2E 60 91 43 40 82 20 43 00 00 FF 2F 00 "
        "4D 54 72 6B 00 00 00 15 00 C2 46 00 92 30 60 00 3C 60 83 00 30 00 00 3C 00 00 FF 2F 00");
    REQUIRE(format_1.size() == 118);
    Problems noticed;
    const Result<StandardMidiFile> first = read_standard_midi_file(format_0, noticed);
    const Result<StandardMidiFile> second = read_standard_midi_file(format_1, noticed);
    REQUIRE(first.ok());
    REQUIRE(second.ok());
    CHECK(noticed.empty());
    CHECK(first.value().format == 0);
    CHECK(first.value().ticks_per_quarter() == 96);
    CHECK(first.value().tracks == std::vector<Track>{{14, 384}});
    CHECK(second.value().format == 1);
    CHECK(second.value().tracks == std::vector<Track>{{3, 384}, {4, 384}, {4, 384}, {6, 384}});
}

TEST_CASE("a division may count SMPTE frames") {  // [SMF] 2.1
    Problems noticed;
    const auto file = read_standard_midi_file(from_hex("4D 54 68 64 00 00 00 06 00 00 00 00 E2 50"), noticed);
    REQUIRE(file.ok());
    CHECK(file.value().frames_and_ticks() == std::pair(30, 80));
    CHECK(file.value().ticks_per_quarter() == 0);
    CHECK(noticed.empty());
}

TEST_CASE("longer headers and unknown chunks are passed over") {  // [SMF] 2.2 and 1.3
    CHECK(listed(from_hex("4D 54 68 64 00 00 00 08 00 00 00 01 00 60 AA BB 58 59 5A 57 00 00 00 02 F0 F7 " +
                          track("00 F0 02 7D F7 00 FF 2F 00"))) == "@0 F0 7D F7");
}

TEST_CASE("System Exclusive events are messages") {
    const auto [events, expected] = GENERATE(table<const char*, const char*>({
        // [SMF] 2.3: the length counts the F7 and not the F0.
        {"00 F0 05 7D 12 00 07 F7", "@0 F0 7D 12 00 07 F7"},
        // [SMF] 2.3: packets; the manufacturer id made 7D.
        {"00 F0 03 7D 12 00 81 48 F7 06 7D 12 00 7D 12 00 64 F7 04 7D 12 00 F7",
         "@0 F0 7D 12 00 7D 12 00 7D 12 00 7D 12 00 F7"},
        // [SMF] 2.3: an F7 event with nothing before it sends its bytes as they are.
        {"00 F7 01 F8", "@0 escape F8"},
        {"00 F7 03 F0 7D F7", "@0 escape F0 7D F7"},
        // [SMF] 2.3: a message must end with F7.
        {"00 F0 04 7D 01 02 03",
         "@0 F0 7D 01 02 03; ! a System Exclusive message is not ended at the end of the track at 23"},
        // [M1] p. 5: nothing but data bytes up to F7.
        {"00 F0 05 7D 01 F8 02 F7", "@0 F0 7D 01 F8 02 F7; ! a System Exclusive event holds the byte F8 at 27"},
        // Running status, and its end at an F0 event ([SMF] 2.3).
        {"00 90 40 7F 00 40 00 00 F0 02 7D F7 00 90 40 00", "@0 F0 7D F7"},
        {"00 90 40 7F 00 F0 02 7D F7 00 40 00",
         "@0 F0 7D F7; ! a data byte stands where an event should begin; the rest of the track is not read at 32"},
        {"05 C0 01 06 D0 02 00 F0 02 7D F7", "@11 F0 7D F7"},
        // Damage keeps what came before.
        {"00 F0 02 7D F7 00 F0 20 7D",
         "@0 F0 7D F7; ! a System Exclusive event runs past the end of its track; the rest of the track is not read at "
         "30"},
        {"00 F0 02 7D F7 00 F4",
         "@0 F0 7D F7; ! a track holds the status byte F4; the rest of the track is not read at 28"},
        {"00 F0 02 7D 01 00 F0 02 7D F7",
         "@0 F0 7D 01; @0 F0 7D F7; ! a System Exclusive message is not ended before the next message at 23"},
    }));
    CAPTURE(events);
    CHECK(listed(one_track(events)) == expected);
}

TEST_CASE("messages of several tracks come in the order of sending") {  // [SMF] 2.1
    const std::string tracks = track("0A F0 02 01 F7 00 FF 2F 00") + track("05 F0 02 02 F7 05 F0 02 03 F7 00 FF 2F 00");
    const std::string together = "@5 F0 02 F7; @10 F0 01 F7; @10 F0 03 F7";
    CHECK(listed(from_hex("4D 54 68 64 00 00 00 06 00 01 00 02 00 60 " + tracks)) == together);
    const std::string one_after_the_other = "@10 F0 01 F7; @5 F0 02 F7; @10 F0 03 F7";
    CHECK(listed(from_hex("4D 54 68 64 00 00 00 06 00 02 00 02 00 60 " + tracks)) == one_after_the_other);
}

TEST_CASE("what cannot be a MIDI file is none") {
    CHECK(listed(from_hex("4D 54 68 64 00 00 00 06 00 00")) == "no file: the MIDI file has no whole header");
    CHECK(listed(from_hex("4D 54 68 64 00 00 00 06 00 03 00 01 00 60")) == "no file: the MIDI file has format 3");
    CHECK(listed(from_hex("4D 54 68 64 00 00 00 05 00 00 00 01 00 60")) ==
          "no file: the MIDI file has no whole header");
}

TEST_CASE("a MIDI file that is cut anywhere is read as far as it goes") {
    const Bytes whole = one_track("00 F0 03 7D 12 00 81 48 F7 06 7D 12 00 7D 12 00 64 F7 04 7D 12 00 F7");
    for (std::size_t length = 14; length < whole.size(); ++length) {
        CAPTURE(length);
        Problems noticed;
        const auto file = read_standard_midi_file(ByteView(whole).first(length), noticed);
        REQUIRE(file.ok());
        CHECK_FALSE(noticed.empty());
        for (const FileMessage& message : file.value().messages) {
            for (const ByteSpan& piece : message.pieces) CHECK(piece.offset + piece.length <= length);
        }
    }
}
