// Layouts: how dumps are framed, packed and checked (docs/formats.md, "Layouts").
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "base/bytes.h"
#include "midi/checks.h"
#include "midi/packing.h"
#include "schema/image_rule.h"
#include "schema/named.h"
#include "schema/records.h"

namespace downfit::schema {

/// A stamp as stored: a number or a text.
using Stamp = std::variant<std::int64_t, std::string>;

/// One element of a message pattern, in order of appearance; the whole message, F0 and F7 included.
struct PatternPart {
    enum class Kind : std::uint8_t {
        literal,  ///< the byte `byte`
        any,      ///< `{}`: one byte that is not looked at (carried along)
        capture,  ///< `{name:length}`
        rest,     ///< `{name...}`: all bytes up to what follows; at most one a pattern
    };
    Kind kind = Kind::literal;
    std::uint8_t byte = 0;
    std::string name;
    std::size_t length = 1;  ///< of a capture: bytes, 1 to 9; numbers are made of 7 bits a byte
    bool low_first = false;  ///< of a capture: the first byte is the least significant

    bool operator==(const PatternPart&) const = default;
};

/// A check over bytes. In a message: over captures, stored in a capture. On the joined data: over a region, stored in
/// place.
struct CheckStep {
    midi::Check check{};
    std::vector<std::string> over;  ///< message: captures in order
    std::string in;                 ///< message: the capture that holds it
    std::int64_t from = 0, to = 0;  ///< joined data: region [from, to), negative (and 0 as `to`) from the end
    std::int64_t at = 0;            ///< joined data: place of the stored check, negative from the end
    bool little_endian = false;

    bool operator==(const CheckStep&) const = default;
};

/// A number of bytes, verified when reading and made anew when writing; of what, and where, as of checks.
struct LengthStep {
    std::vector<std::string> of;    ///< message: captures
    std::string in;                 ///< message: the capture that holds it
    std::int64_t from = 0, to = 0;  ///< joined data: region [from, to), negative (and 0 as `to`) from the end
    std::int64_t at = 0;            ///< joined data: place of the stored number, negative from the end
    std::size_t width = 1;          ///< joined data: bytes of the stored number, 1 to 4
    bool little_endian = false;
    std::int64_t plus = 0;  ///< added to the number of bytes

    bool operator==(const LengthStep&) const = default;
};

/// A reversible packing, or a layer that cannot be read (`encrypted`): what lies under it is carried along, and its
/// presets are undecided.
struct UnpackStep {
    enum class Packing : std::uint8_t {
        seven_in_eight,
        nibbles,
        split,
        xor_key,
        xor_rolling,
        run_length,
        deflate,
        encrypted,
    };
    Packing packing = Packing::seven_in_eight;
    std::uint8_t order = 0;  ///< the enum value in midi/packing.h of the packing's order or wrapper
    unsigned low_bits = 0;   ///< of split
    Bytes key;               ///< of xor_key (1 or more bytes), xor_rolling and run_length (one byte: seed, escape)

    bool operator==(const UnpackStep&) const = default;
};

/// Steps in reading order: from the outside in.
using Step = std::variant<CheckStep, UnpackStep, LengthStep>;

struct MessagePattern {
    std::string name;
    std::vector<PatternPart> parts;
    std::vector<Step> steps;

    bool operator==(const MessagePattern&) const = default;
};

/// Where a number stands in the body, for stamps that no message captures.
struct BodyNumber {
    std::size_t at = 0;
    std::size_t length = 1;  ///< bytes, 1 to 4
    bool little_endian = false;

    bool operator==(const BodyNumber&) const = default;
};

/// Bytes at a place of the body.
struct BodyBytes {
    std::size_t at = 0;
    Bytes bytes;
    bool operator==(const BodyBytes&) const = default;
};

enum class Holds : std::uint8_t { presets, unit_settings, asset };

/// What is the same for all releases that frame their dumps alike. Two releases understand each other's dumps when
/// their framings are equal.
struct Framing {
    Holds holds = Holds::presets;
    std::string asset;  ///< the kind, with Holds::asset
    std::vector<MessagePattern> messages;
    std::vector<AssemblyPart> preset;
    std::vector<Step> steps;
    std::optional<BodyNumber> stamp;
    std::vector<BodyBytes> empty;         ///< a body that shows any of these is an empty slot
    std::optional<BodyBytes> filled;      ///< a body that does not show this was never written: an empty slot
    bool raw = false;                     ///< the file is the image; no messages
    Bytes begins_with;                    ///< of a raw file; empty: not recognised by content
    std::optional<ImageRule> image;       ///< takes the place of `preset`
    std::vector<PresetRun> presets;       ///< where presets lie in the image or joined data; empty: it is one preset
    std::vector<AssemblyPart> dump, end;  ///< messages that stand once before all presets, and after them
    NamedFraming named;                   ///< with a notation but bytes: a text file, nothing else above counts

    bool operator==(const Framing&) const = default;
};

/// A named layout as one release has it.
struct Layout {
    std::string name;
    std::size_t framing = 0;               ///< index into Device::framings
    std::size_t body_size = 0;             ///< bytes that the release expects; 0: not known, of records
    std::optional<Records> records;        ///< the body is a run of records
    std::vector<ByteSpan> volatile_bytes;  ///< in the body; never compared
    Notation notation = Notation::bytes;   ///< as its framing has it
    /// By name: paths in the preset that are no parameters (slot, name, stamp) or change by themselves.
    std::vector<std::string> other_paths = {};
};

}  // namespace downfit::schema
