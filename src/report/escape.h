// Texts from dumps and files made safe to show: whatever could steer a terminal or deceive the eye becomes visible.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace downfit::report {

/// One code point of a text, or one byte that is no UTF-8.
struct CodePoint {
    std::uint32_t value = 0;  ///< the code point; the byte, where not valid
    std::size_t length = 1;   ///< bytes that it takes
    bool valid = true;        ///< well-formed UTF-8 (RFC 3629: no surrogates, nothing overlong)
};

/// The code point at the start of `text`, which must not be empty.
[[nodiscard]] CodePoint first_code_point(std::string_view text);

/// Columns that a code point takes: 0 for combining marks, 2 for wide ones, else 1.
[[nodiscard]] int columns_of(std::uint32_t code_point);

/// The text with everything that is not plainly visible written as \u{202E}: control characters (C0, DEL, C1, so also
/// line breaks and escape sequences), marks that change direction, that are invisible or break lines, and the fifth and
/// any further combining mark in a row. A byte that is no UTF-8 becomes \x{FF}. The result is always valid UTF-8 on one
/// line.
[[nodiscard]] std::string printable(std::string_view text);

}  // namespace downfit::report
