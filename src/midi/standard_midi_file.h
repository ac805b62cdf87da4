// Standard MIDI Files: the System Exclusive messages in them, as they would be sent.
//
// From the Standard MIDI-File Format Specification 1.1:
// - Chunks of unknown type are skipped, and a header longer than six bytes is taken by its length (1.3, 2.2).
// - F0 LENGTH DATA is a message, or its first packet where DATA does not end with F7. F7 LENGTH DATA goes on with it,
// up
//   to and with the packet that ends with F7; without a message to go on with it is an escape: bytes sent as they are
//   (2.3).
// - F0, F7 and FF events end running status (2.3).
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "base/bytes.h"
#include "base/problem.h"
#include "base/result.h"

namespace downfit::midi {

/// A variable-length quantity, and how many bytes it took.
struct Quantity {
    std::uint32_t value = 0;  ///< 0 to 0x0FFFFFFF
    std::size_t length = 0;   ///< 1 to 4
};

/// The quantity that `bytes` begin with. Fails where they end too early or the fourth byte has its top bit set.
[[nodiscard]] Result<Quantity> read_quantity(ByteView bytes);

/// A System Exclusive message, or the bytes of an escape.
struct FileMessage {
    std::size_t track = 0;         ///< counted from 0 among the file's tracks
    std::uint64_t tick = 0;        ///< when its first packet is sent, from the start of its track
    std::vector<ByteSpan> pieces;  ///< where its bytes stand in the file, in order; they are not contiguous there
    bool escape = false;

    bool operator==(const FileMessage&) const = default;
};

/// One track, as far as it could be read.
struct Track {
    std::size_t events = 0;   ///< of all kinds, the end of the track among them
    std::uint64_t ticks = 0;  ///< when the last of them is

    bool operator==(const Track&) const = default;
};

struct StandardMidiFile {
    int format = 0;                     ///< 0, 1 or 2
    std::uint16_t division = 0;         ///< as written
    std::vector<Track> tracks;          ///< that are there, whatever the header says
    std::vector<FileMessage> messages;  ///< in the order of sending: by tick; in format 2 track after track

    /// Ticks in a quarter note, or 0 where time is counted in SMPTE frames.
    [[nodiscard]] int ticks_per_quarter() const { return division < 0x8000 ? division : 0; }
    /// SMPTE frames in a second (24, 25, 29 for 30 drop frame, 30) and ticks in a frame; zeros where it counts
    /// quarters.
    [[nodiscard]] std::pair<int, int> frames_and_ticks() const;
};

/// Whether these bytes claim to be one: they begin with "MThd".
[[nodiscard]] bool is_standard_midi_file(ByteView bytes);

/// Reads one. Fails only where there is no usable header. What is wrong later is added to `noticed` (offsets from the
/// start of `bytes`, no file name); whatever could be read before and after it is kept.
[[nodiscard]] Result<StandardMidiFile> read_standard_midi_file(ByteView bytes, Problems& noticed);

/// The messages one after another, as a stream of bytes.
[[nodiscard]] Bytes stream_of(std::span<const FileMessage> messages, ByteView file);

}  // namespace downfit::midi
