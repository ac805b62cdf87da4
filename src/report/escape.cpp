#include "report/escape.h"

#include <algorithm>
#include <array>

#include "base/text.h"

namespace downfit::report {

namespace {

struct Range {
    std::uint32_t first, last;
};

// Unicode 15: general category Cf without the Arabic and Brahmi number signs, which are visible; and the two
// separators.
constexpr std::array hidden{
    Range{0x00, 0x1F},     Range{0x7F, 0x9F},     Range{0xAD, 0xAD},       Range{0x34F, 0x34F},
    Range{0x61C, 0x61C},   Range{0x115F, 0x1160}, Range{0x180B, 0x180F},   Range{0x200B, 0x200F},
    Range{0x2028, 0x202E}, Range{0x2060, 0x206F}, Range{0x3164, 0x3164},   Range{0xFEFF, 0xFEFF},
    Range{0xFFA0, 0xFFA0}, Range{0xFFF0, 0xFFFB}, Range{0x1D173, 0x1D17A}, Range{0xE0000, 0xE0FFF}};

constexpr std::array combining{
    Range{0x300, 0x36F},   Range{0x483, 0x489},   Range{0x591, 0x5BD},   Range{0x610, 0x61A},   Range{0x64B, 0x65F},
    Range{0xE31, 0xE31},   Range{0xE34, 0xE3A},   Range{0xE47, 0xE4E},   Range{0x1AB0, 0x1AFF}, Range{0x1DC0, 0x1DFF},
    Range{0x20D0, 0x20FF}, Range{0x3099, 0x309A}, Range{0xFE00, 0xFE0F}, Range{0xFE20, 0xFE2F}};

// Unicode 15, East Asian Width W and F, in whole blocks.
constexpr std::array wide{Range{0x1100, 0x115F},   Range{0x2E80, 0x303E},   Range{0x3041, 0xA4CF},
                          Range{0xA960, 0xA97F},   Range{0xAC00, 0xD7A3},   Range{0xF900, 0xFAFF},
                          Range{0xFE30, 0xFE6F},   Range{0xFF00, 0xFF60},   Range{0xFFE0, 0xFFE6},
                          Range{0x1F300, 0x1F64F}, Range{0x1F680, 0x1F6FF}, Range{0x1F900, 0x1F9FF},
                          Range{0x20000, 0x3FFFD}};

constexpr int most_marks = 4;

template <class Ranges>
bool contains(const Ranges& ranges, std::uint32_t code_point) {
    return std::any_of(ranges.begin(), ranges.end(),
                       [&](const Range& range) { return code_point >= range.first && code_point <= range.last; });
}

void append_escape(std::string& text, char letter, std::uint32_t number) {
    text += '\\';
    text += letter;
    text += '{' + hex_text(number, 2) + '}';
}

}  // namespace

CodePoint first_code_point(std::string_view text) {
    const auto byte = [&](std::size_t at) -> std::uint32_t { return static_cast<std::uint8_t>(text[at]); };
    const std::uint32_t lead = byte(0);
    const CodePoint broken{lead, 1, false};
    if (lead < 0x80) return {lead, 1, true};
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4 || text.size() < length) return broken;
    std::uint32_t value = lead & (0x7FU >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xC0) != 0x80) return broken;
        value = (value << 6) | (byte(i) & 0x3F);
    }
    const std::uint32_t least = length == 4 ? 0x10000 : length == 3 ? 0x800 : 0x80;
    if (value < least || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF)) return broken;
    return {value, length, true};
}

int columns_of(std::uint32_t code_point) {
    if (code_point < 0x300) return 1;
    if (contains(combining, code_point)) return 0;
    return contains(wide, code_point) ? 2 : 1;
}

std::string printable(std::string_view text) {
    std::string shown;
    shown.reserve(text.size());
    int marks = 0;
    while (!text.empty()) {
        const CodePoint point = first_code_point(text);
        marks = point.valid && columns_of(point.value) == 0 ? marks + 1 : 0;
        if (!point.valid) {
            append_escape(shown, 'x', point.value);
        } else if (contains(hidden, point.value) || marks > most_marks) {
            append_escape(shown, 'u', point.value);
        } else {
            shown += text.substr(0, point.length);
        }
        text.remove_prefix(point.length);
    }
    return shown;
}

}  // namespace downfit::report
