// Fields: stored numbers and texts in a body, read and written by their storage. No meaning is applied here.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "base/bytes.h"
#include "schema/parameter.h"

namespace downfit::dump {

/// What stands in a body: a whole number (integers, switches, choices, references), a real (floats), or a text.
/// A value type; `text` is empty for numbers and costs nothing then.
struct Stored {
    enum class Kind : std::uint8_t {
        none,  ///< beyond the body's end
        whole,
        real,
        text,
    };
    Kind kind = Kind::none;
    std::int64_t whole = 0;
    double real = 0;
    /// Of a text the raw bytes without trailing padding, not yet converted from the field's encoding; of a number
    /// that stands as a word that word.
    std::string text;

    /// The number as a double; 0 for texts.
    [[nodiscard]] double number() const { return kind == Kind::real ? real : static_cast<double>(whole); }

    /// Whether it is that number, however it is stored; false without one.
    [[nodiscard]] bool is(const std::optional<std::int64_t>& other) const {
        return other && (kind == Kind::real ? real == static_cast<double>(*other) : whole == *other);
    }

    bool operator==(const Stored&) const = default;
};

/// Reads a field. Kind::none where any of its bits (for a text: its first byte) lies beyond the body; a text that the
/// body cuts is read as far as it goes. 64-bit unsigned numbers above 2^63 - 1 come out negative.
[[nodiscard]] Stored read_field(const schema::Storage& storage, ByteView body);

/// The bit pattern of a number field, or nullopt where any bit lies beyond the body or the field is a text.
[[nodiscard]] std::optional<std::uint64_t> read_bits(const schema::Storage& storage, ByteView body);

/// Writes a field so that read_field gives `stored` again; other bits stay. False, and nothing written, where it does
/// not fit: a number beyond the field's width, a real that is not exactly a float32, a text longer than the field or
/// ending in its padding, a field beyond the body, another kind.
[[nodiscard]] bool write_field(const schema::Storage& storage, const Stored& stored, Bytes& body);

/// The least and most whole number that the field can hold (integer codings only).
[[nodiscard]] std::int64_t least_stored(const schema::Storage& storage);
[[nodiscard]] std::int64_t most_stored(const schema::Storage& storage);

}  // namespace downfit::dump
