// Dumps: a file's bytes in, presets (and settings, and assets) with their bodies out; and back, byte-identical.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/bytes.h"
#include "base/problem.h"
#include "base/result.h"
#include "schema/device.h"

namespace downfit::dump {

/// Four different things. `absent` never stands in a Dump: it is said of slots that no entry has.
enum class SlotState : std::uint8_t { filled, empty, absent, damaged };

/// One message of the dump that a framing of the device recognised.
struct Message {
    ByteSpan span;                ///< in the file, F0 and F7 included
    std::size_t framing = 0;      ///< index into Device::framings
    std::size_t pattern = 0;      ///< index into Framing::messages
    std::vector<Bytes> captures;  ///< bytes as sent, one for each part of the pattern that is not a literal, in order
    Bytes payload;                ///< `data` after the message's steps
    /// Kept only where packing `payload` again would give other bytes (padding bits set); else empty.
    Bytes payload_as_sent;
    /// Real-time bytes inside: offset from the message's start, byte.
    std::vector<std::pair<std::size_t, std::uint8_t>> realtime;
};

/// One preset, the unit settings, or one asset, assembled from messages.
struct Entry {
    std::size_t framing = 0;
    std::size_t layout = 0;  ///< index into Device::layouts (and every Release::layouts)
    int slot = -1;           ///< as stored; -1 where the dump does not number it
    SlotState state = SlotState::filled;
    std::optional<schema::Stamp> stamp;
    Bytes body;            ///< after all steps; of a damaged entry what could be had, maybe nothing
    Bytes joined_as_sent;  ///< kept only where redoing the layout's steps on `body` would give other bytes; else empty
    std::vector<std::size_t> messages;  ///< indices into Dump::messages, in order
    Problems damage;                    ///< why it is damaged; not empty exactly for SlotState::damaged
};

/// What a run of the file's bytes is. All spans of a dump cover the file exactly once, in order.
struct Span {
    enum class Kind : std::uint8_t {
        message,  ///< recognised: `index` into Dump::messages
        foreign,  ///< a whole System Exclusive message that no framing of the device knows
        damaged,  ///< an unfinished message
        junk,     ///< anything else
    };
    ByteSpan span;
    Kind kind = Kind::junk;
    std::size_t index = 0;
};

/// A dump as read. Keeps a pointer to the device, which must outlive it.
struct Dump {
    std::string file;    ///< name, for reports
    std::string digest;  ///< SHA-256 of the bytes, hex
    const schema::Device* device = nullptr;
    std::vector<Message> messages;
    std::vector<Entry> entries;  ///< in file order
    std::vector<Span> spans;
    /// Damage that belongs to no entry, foreign messages, junk, slots that do not exist or (of undamaged entries) stand
    /// twice.
    Problems problems;
};

/// The device whose framings recognise most bytes of the file, or nullptr where none recognises a message.
[[nodiscard]] const schema::Device* recognise(ByteView bytes, const std::vector<const schema::Device*>& devices);

/// Reads a whole dump. Fails only where nothing in it can be used (no message of the device at all); whatever else is
/// wrong is in `problems` and `damage`, and all other entries are read. Every change under a check makes its entry
/// damaged. Never throws.
[[nodiscard]] Result<Dump> read(std::string file, ByteView bytes, const schema::Device& device);

/// Writes the dump back: `original` with every entry's messages made anew from its body and captures: packings redone,
/// checks recomputed from the inside out, real-time bytes put back. Unchanged entries come out byte-identical; damaged
/// entries, foreign messages and junk are copied. Fails where a body no longer fits its messages (its length after
/// packing differs).
[[nodiscard]] Result<Bytes> write(const Dump& dump, ByteView original);

/// For every byte of an entry's body the offset in the file of the byte that it mainly came from.
[[nodiscard]] std::vector<std::size_t> origins(const Dump& dump, const Entry& entry, ByteView original);

/// The text in a capture `name` of the entry's messages as UTF-8, without padding (spaces, zeros); empty where no
/// message captures one.
[[nodiscard]] std::string captured_name(const Dump& dump, const Entry& entry);

/// The number shown to people for a slot as stored ("first" of the device's slots or asset slots added); -1 where the dump
/// does not number it.
[[nodiscard]] int shown_slot(const schema::Device& device, const Entry& entry);

}  // namespace downfit::dump
