#include "base/text.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <string_view>

namespace downfit {

namespace {

constexpr int significant_digits = 6;
constexpr double largest_in_full = 1e15;  // whole numbers up to here are exact
constexpr double fraction_shown_below = 1e5;

}  // namespace

void append_number(std::string& text, std::int64_t number) {
    std::array<char, 24> digits{};
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
    text.append(digits.data(), end);
}

void append_number(std::string& text, double number) {
    if (std::isnan(number)) {
        text += "nan";
        return;
    }
    const double size = std::fabs(number);
    if (size < largest_in_full && (size >= fraction_shown_below || size == std::floor(size))) {
        append_number(text, static_cast<std::int64_t>(std::llround(number)));
        return;
    }
    std::array<char, 40> digits{};
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number, std::chars_format::general,
                                   significant_digits)
                         .ptr;
    text.append(digits.data(), end);
}

std::string number_text(double number) {
    std::string text;
    append_number(text, number);
    return text;
}

std::string hex_text(std::uint64_t number, std::size_t digits) {
    constexpr std::string_view names = "0123456789ABCDEF";
    std::string text;
    for (; number > 0 || text.size() < digits; number >>= 4) text.insert(text.begin(), names[number & 0xF]);
    return text;
}

std::string beginning_of(std::string_view text, std::size_t bytes) {
    if (text.size() <= bytes) return std::string(text);
    std::size_t end = bytes;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
    return std::string(text.substr(0, end)) + "...";
}

}  // namespace downfit
