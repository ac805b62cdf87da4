#include "report/layout.h"

#include <array>

#include "base/limits.h"
#include "report/escape.h"

namespace downfit::report {

std::string paint(std::string_view text, Tone tone, const Style& style) {
    constexpr std::array<std::string_view, 9> codes{"", "1", "2", "36", "34", "33", "1;31", "35", "1;33"};
    const std::string_view code = codes[static_cast<std::size_t>(tone)];
    if (!style.color || code.empty()) return std::string(text);
    return "\x1B[" + std::string(code) + "m" + std::string(text) + "\x1B[0m";
}

std::size_t columns(std::string_view text) {
    std::size_t count = 0;
    while (!text.empty()) {
        const CodePoint point = first_code_point(text);
        count += static_cast<std::size_t>(columns_of(point.value));
        text.remove_prefix(point.length);
    }
    return count;
}

std::string cut(std::string_view text, std::size_t width) {
    if (columns(text) <= width) return std::string(text);
    const std::string_view mark = std::string_view("...").substr(0, width);
    std::string shown;
    std::size_t taken = mark.size();
    while (!text.empty()) {
        const CodePoint point = first_code_point(text);
        taken += static_cast<std::size_t>(columns_of(point.value));
        if (taken > width) break;
        shown += text.substr(0, point.length);
        text.remove_prefix(point.length);
    }
    shown += mark;
    return shown;
}

std::string brief(std::string_view text) {
    return cut(printable(text), limits::widest_text);
}

std::string brief_problem(std::string_view text) {
    return cut(printable(text), limits::widest_problem);
}

std::string left(std::string_view text, std::size_t width) {
    std::string shown = cut(text, width);
    shown.append(width - columns(shown), ' ');
    return shown;
}

std::string right(std::string_view text, std::size_t width) {
    std::string shown = cut(text, width);
    shown.insert(0, width - columns(shown), ' ');
    return shown;
}

void append_wrapped(std::string& out, std::string_view text, std::size_t width, std::size_t indent, std::size_t hang) {
    std::string line(indent, ' ');
    std::size_t taken = indent;
    bool empty = true;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, end);
        const std::size_t size = columns(word);
        if (!empty && taken + 1 + size > width) {
            append_line(out, line);
            line.assign(hang, ' ');
            taken = hang;
            empty = true;
        }
        if (!empty) {
            line += ' ';
            ++taken;
        }
        line += word;
        taken += size;
        empty = false;
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    append_line(out, line);
}

void append_line(std::string& out, std::string_view line) {
    const std::size_t end = line.find_last_not_of(' ');
    out += line.substr(0, end == std::string_view::npos ? 0 : end + 1);
    out += '\n';
}

std::string ranges_text(const std::vector<int>& numbers) {
    std::string text;
    for (std::size_t i = 0; i < numbers.size();) {
        std::size_t last = i;
        while (last + 1 < numbers.size() && numbers[last + 1] == numbers[last] + 1) ++last;
        if (!text.empty()) text += ", ";
        text += std::to_string(numbers[i]);
        if (last > i) text += (last == i + 1 ? ", " : "-") + std::to_string(numbers[last]);
        i = last + 1;
    }
    return text;
}

std::string counted(std::size_t number, std::string_view one, std::string_view many) {
    return std::to_string(number) + ' ' + std::string(number == 1 ? one : many);
}

std::string presets(std::size_t number) {
    return counted(number, "preset", "presets");
}

}  // namespace downfit::report
