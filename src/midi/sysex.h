// System Exclusive framing: a stream of bytes cut into messages, damaged messages and the rest.
//
// In: any bytes. Out: items in stream order whose spans follow each other without gap or overlap, so that
// their lengths always add up to the input's size. Reading never fails; what is wrong is an item of its own.
//
// Rules, from the MIDI 1.0 Detailed Specification 4.2.1 (pp. 5, 6, 29, 34):
// - F0 starts a message, F7 ends it, and the bytes between have their top bit clear.
// - Real-time bytes (F8 to FF, the undefined F9 and FD among them) may stand between data bytes and end nothing.
// - Any other status byte ends a message before its time. That byte is then read as what it is: F0 starts the
//   next message, any other belongs to the junk that follows.
// - F4 and F5 are undefined. Page 29 says that any status ends a message, page 6 that an undefined one is
//   ignored. They are taken as ending here, with a reason of their own that says so.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "base/bytes.h"
#include "base/result.h"

namespace downfit::midi {

/// What a run of the stream is.
enum class ItemKind {
    message,  ///< F0, a manufacturer id, data, F7
    damaged,  ///< begins with F0 and is not a whole message; Item::damage says why
    junk,     ///< everything else: data without a status, a lone F7, other messages, real time between messages
};

/// Why a damaged message is no message.
enum class Damage {
    none,                       ///< it is not damaged
    ended_by_status,            ///< a status byte stands where data or F7 should
    ended_by_undefined_status,  ///< the same with F4 or F5: the specification can be read both ways
    missing_end,                ///< the input ends before F7
    no_manufacturer_id,         ///< well framed, but without a whole manufacturer id (F0 F7)
};

/// A kind of damage and a sentence about it without a full stop.
struct DamageRow {
    Damage damage;
    std::string_view text;
};

/// Every kind of damage, in the order of the enum.
inline constexpr std::array<DamageRow, 5> damages{{
    {Damage::none, "the message is whole"},
    {Damage::ended_by_status, "the message is cut off by another status byte"},
    {Damage::ended_by_undefined_status,
     "the message holds an undefined status byte, which by one reading of MIDI 1.0 ends it and by another is ignored"},
    {Damage::missing_end, "the message is cut off by the end of the input"},
    {Damage::no_manufacturer_id, "the message has no manufacturer id"},
}};

/// The sentence of the table above.
[[nodiscard]] std::string_view text(Damage damage);

/// A status byte and where it stands, in bytes from the start of the file.
struct StatusByte {
    std::size_t offset = 0;
    std::uint8_t value = 0;

    bool operator==(const StatusByte&) const = default;
};

/// One run of the stream. Owns its bytes.
struct Item {
    ItemKind kind = ItemKind::junk;
    ByteSpan span;                      ///< in the file, F0 and F7 included
    Bytes content;                      ///< data bytes after F0, without real time; empty for junk
    std::vector<StatusByte> real_time;  ///< real-time bytes among the data, in stream order; none for junk
    Damage damage = Damage::none;
    std::optional<StatusByte> ended_by;  ///< the status after the span that cut it off, for the two `ended_by_…`

    bool operator==(const Item&) const = default;
};

/// Reads one item after another. Keeps the view, not a copy: the bytes must outlive the reader.
class SysexReader {
public:
    /// `file_offset` is where `bytes` begins in its file; it is added to every offset given out.
    explicit SysexReader(ByteView bytes, std::size_t file_offset = 0) : bytes_(bytes), file_offset_(file_offset) {}

    /// The next item, never an empty one; nothing at the end of the input.
    [[nodiscard]] std::optional<Item> next();

private:
    [[nodiscard]] Item read_junk();
    [[nodiscard]] Item read_message();

    ByteView bytes_;
    std::size_t file_offset_;
    std::size_t position_ = 0;
};

/// Every item of `bytes`; `file_offset` as for the reader.
[[nodiscard]] std::vector<Item> read_sysex(ByteView bytes, std::size_t file_offset = 0);

/// Where content byte `index` of a message or a damaged message stands in the file, real-time bytes before it
/// counted. For index == content.size(): where F7 stands, or would. Not for junk.
[[nodiscard]] std::size_t content_offset(const Item& item, std::size_t index);

/// A message as sent: F0, `content`, F7. Real-time bytes are put back at their offsets, counted from the start of
/// a file in which F0 stands at `start`. With the content, real time and span offset of an item that is a
/// message the result equals the bytes it was read from.
/// Fails: no manufacturer id; a content byte above 7F (place: its index); a real-time byte below F8, out of
/// order, or outside the message (place: its offset).
[[nodiscard]] Result<Bytes> frame(ByteView content, std::span<const StatusByte> real_time = {}, std::size_t start = 0);

}  // namespace downfit::midi
