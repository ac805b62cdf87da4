// Laying out text: columns, wrapping, colour. All texts given are already printable (report/escape.h), but for those of
// brief.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace downfit::report {

/// How wide, and whether in colour. Passed in by whoever prints.
struct Style {
    std::size_t width = 100;
    bool color = false;
};

/// A width at which no line is broken.
inline constexpr std::size_t endless = 1'000'000;

/// What a colour stands for. Never the only sign: the word is always there too.
enum class Tone { plain, strong, faint, good, mild, bad, worst, unknown, caution };

/// The text in the tone's colour, or unchanged without colours.
[[nodiscard]] std::string paint(std::string_view text, Tone tone, const Style& style);

/// How many columns the text takes on a terminal.
[[nodiscard]] std::size_t columns(std::string_view text);

/// Cut to at most `width` columns; what was cut ends in "...".
[[nodiscard]] std::string cut(std::string_view text, std::size_t width);

/// A text from a dump or a schema, made printable and cut to limits::widest_text columns; or to those of a problem.
[[nodiscard]] std::string brief(std::string_view text);
[[nodiscard]] std::string brief_problem(std::string_view text);

/// Cut and filled to exactly `width` columns.
[[nodiscard]] std::string left(std::string_view text, std::size_t width);
[[nodiscard]] std::string right(std::string_view text, std::size_t width);

/// Appends the text in lines of at most `width` columns, broken at spaces, each ended; the first begins after `indent`
/// spaces, the others after `hang`. A longer word stands alone, uncut: it may be needed whole.
void append_wrapped(std::string& out, std::string_view text, std::size_t width, std::size_t indent, std::size_t hang);

/// A line that is already laid out.
void append_line(std::string& out, std::string_view line);

/// "1-4, 7, 9-12" of numbers in rising order.
[[nodiscard]] std::string ranges_text(const std::vector<int>& numbers);

/// "1 preset", "2 presets".
[[nodiscard]] std::string counted(std::size_t number, std::string_view one, std::string_view many);
[[nodiscard]] std::string presets(std::size_t number);

}  // namespace downfit::report
