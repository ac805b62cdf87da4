// Dumps: a file's bytes in, presets (and settings, and assets) with their bodies out; and back, byte-identical.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/bytes.h"
#include "base/problem.h"
#include "base/result.h"
#include "schema/device.h"

namespace downfit::dump {

class NamedBody;

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

/// A message's data in an image: `at` is the place of its first byte before the layout's steps.
struct ImagePart {
    std::size_t message = 0;  ///< index into Dump::messages
    std::size_t at = 0;
};

/// What many entries are cut from: the joined data of one series of messages, a memory image, or a raw file.
struct Image {
    std::size_t framing = 0;
    Bytes bytes;                   ///< after the layout's steps; bytes that no part covers are zero
    std::size_t laid_size = 0;     ///< bytes before the layout's steps
    std::vector<ImagePart> parts;  ///< where two overlap, the earlier one counts; empty for a raw file
};

/// Where an entry stands in an image.
struct Cut {
    std::size_t image = 0;         ///< index into Dump::images
    std::size_t run = 0;           ///< index into Framing::presets
    int item = 0;                  ///< which of the run
    std::vector<ByteSpan> pieces;  ///< in Image::bytes, as read; one after another they are the body
};

/// One preset, the unit settings, or one asset, assembled from messages or cut from an image.
struct Entry {
    std::size_t framing = 0;
    std::size_t layout = 0;  ///< index into Device::layouts (and every Release::layouts)
    int slot = -1;           ///< as stored; -1 where the dump does not number it
    SlotState state = SlotState::filled;
    std::optional<schema::Stamp> stamp;
    Bytes body;            ///< after all steps; of a damaged entry what could be had, maybe nothing
    Bytes joined_as_sent;  ///< kept only where redoing the layout's steps on `body` would give other bytes; else empty
    std::vector<std::size_t> messages;  ///< indices into Dump::messages, in order; those that hold any of the body
    std::optional<Cut> cut;             ///< for entries of an image
    std::optional<ByteSpan> text;       ///< by name: where the body stands in the file
    Problems damage;                    ///< why it is damaged; not empty exactly for SlotState::damaged
};

/// What a run of the file's bytes is. All spans of a dump cover the file exactly once, in order.
struct Span {
    enum class Kind : std::uint8_t {
        message,  ///< recognised: `index` into Dump::messages
        image,    ///< a whole raw file: `index` into Dump::images
        text,     ///< a whole file of JSON or XML
        foreign,  ///< a whole System Exclusive message that no framing of the device knows
        damaged,  ///< an unfinished message
        junk,     ///< anything else
    };
    ByteSpan span;
    Kind kind = Kind::junk;
    std::size_t index = 0;
};

/// By name: a text of the file outside of all entries, and what is to stand there instead.
struct TextPatch {
    ByteSpan span;  ///< in the file
    std::string text;
};

/// A dump as read. Keeps a pointer to the device, which must outlive it.
struct Dump {
    std::string file;    ///< name, for reports
    std::string digest;  ///< SHA-256 of the bytes, hex
    const schema::Device* device = nullptr;
    std::vector<Message> messages;
    std::vector<Image> images;
    std::vector<Entry> entries;  ///< in file order, those of one image by run and item
    std::vector<Span> spans;
    /// Damage that belongs to no entry, foreign messages, junk, slots that do not exist or (of undamaged entries) stand
    /// twice.
    Problems problems;
    std::vector<TextPatch> patches;  ///< for write(); none as read
    std::size_t notes = 0;           ///< the first so many of `problems` were tolerated and hurt nothing
};

/// The device whose framings recognise most bytes of the file, or nullptr where none recognises anything: messages by
/// their patterns, a raw file by its first bytes, JSON and XML by what stands in them. (A file with too many messages
/// goes to the first: reading it says why.) With the name of a layout only that one is asked, and a raw layout without
/// first bytes recognises every file that has any.
[[nodiscard]] const schema::Device* recognise(ByteView bytes, const std::vector<const schema::Device*>& devices,
                                              std::string_view layout = {});

/// Reads a whole dump. Fails, of JSON and XML, where the file breaks their grammar, with line and column; else only
/// where nothing in it can be used (no message of the device at all, a raw file that begins otherwise, an unknown
/// `layout`) or it exceeds a limit (base/limits.h); whatever else is wrong is in `problems` and `damage`, and all other
/// entries are read. Every change under a check makes its entry damaged; of an image, exactly the entries whose pieces
/// share bytes with what is damaged or missing. Never throws. `layout` names the one layout to read the file by;
/// without it content decides.
[[nodiscard]] Result<Dump> read(std::string file, ByteView bytes, const schema::Device& device,
                                std::string_view layout = {});

/// Writes the dump back: `original` with every entry's messages made anew from its body and captures: packings redone,
/// checks and lengths recomputed from the inside out, real-time bytes put back. Of an image, only messages whose data
/// changes are made anew. Unchanged entries come out byte-identical; damaged entries, foreign messages and junk are
/// copied; so is a message that belongs to no entry, unless its captures were changed. Fails where a body no longer
/// fits its messages (its length after packing differs; of records, the last message may grow to the length of the
/// first), or its pieces (entries that share bytes of an image hold different ones).
[[nodiscard]] Result<Bytes> write(const Dump& dump, ByteView original);

/// For every byte of an entry's body the offset in the file of the byte that it mainly came from; for bytes that came
/// from nowhere, the start of the first message.
[[nodiscard]] std::vector<std::size_t> origins(const Dump& dump, const Entry& entry, ByteView original);

/// The text in a capture `name` of the entry's messages (by name: where its layout says) as UTF-8, without padding
/// (spaces, zeros); empty where no message captures one, or where it would name many presets at once.
[[nodiscard]] std::string captured_name(const Dump& dump, const Entry& entry);

/// The text at the path that a framing by name gives for the preset's name; empty without one.
[[nodiscard]] std::string named_name(const schema::Framing& framing, const NamedBody& body);

/// The number shown to people for a slot as stored ("first" of the device's slots or asset slots added); -1 where the
/// dump does not number it.
[[nodiscard]] int shown_slot(const schema::Device& device, const Entry& entry);

/// Preset slots, as shown, that the dump does not hold, rising: those between the first and the last that it does, and
/// those of the images in it for which no part came.
[[nodiscard]] std::vector<int> absent_slots(const Dump& dump);

}  // namespace downfit::dump
