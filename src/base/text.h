// Numbers as text for people, the same everywhere, whatever the locale; long texts cut short.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace downfit {

/// What some programs put in front of a text in UTF-8.
inline constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

/// The shortest sensible text of a number: a whole number in full, any other with at most six significant digits and
/// without trailing zeros ("-12.5", "0.333333", "20000"). Minus zero is "0"; also "inf", "-inf", "nan".
[[nodiscard]] std::string number_text(double number);

/// The same, added to a text.
void append_number(std::string& text, double number);
void append_number(std::string& text, std::int64_t number);

/// Hexadecimal, in capitals, with zeros in front up to `digits`.
[[nodiscard]] std::string hex_text(std::uint64_t number, std::size_t digits = 1);

/// How a text in UTF-8 begins: at most `bytes` bytes of it, no character cut apart, and "..." for what is left out.
[[nodiscard]] std::string beginning_of(std::string_view text, std::size_t bytes = 40);

}  // namespace downfit
