#include "report/problems.h"

#include <string_view>

#include "report/escape.h"
#include "report/layout.h"

namespace downfit::report {

namespace {

struct PlaceWriter {
    std::string operator()(std::monostate) const { return {}; }
    std::string operator()(const std::string& file) const { return printable(file); }
    std::string operator()(const TextPlace& place) const {
        std::string text = printable(place.file);
        if (place.line > 0) text += ':' + std::to_string(place.line);
        if (place.line > 0 && place.column > 0) text += ':' + std::to_string(place.column);
        return text;
    }
    std::string operator()(const BytePlace& place) const {
        std::string text = printable(place.file);
        text += ", " + byte_text(place.offset);
        if (place.slot >= 0) text += ", slot as stored " + std::to_string(place.slot);
        return text;
    }
};

}  // namespace

std::string byte_text(std::size_t offset) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string hex;
    for (std::size_t rest = offset; rest > 0 || hex.empty(); rest >>= 4) hex.insert(hex.begin(), digits[rest & 0xF]);
    return "byte " + std::to_string(offset) + " (0x" + hex + ')';
}

std::string place_text(const Place& place) {
    return std::visit(PlaceWriter{}, place);
}

std::string problem_text(const Problem& problem) {
    std::string text = place_text(problem.place);
    if (!text.empty()) text += ": ";
    text += brief_problem(problem.what) + '\n';
    const auto* in_text = std::get_if<TextPlace>(&problem.place);
    if (in_text != nullptr && !in_text->pointer.empty()) text += "    at " + brief_problem(in_text->pointer) + '\n';
    if (!problem.expected.empty()) text += "    expected: " + brief_problem(problem.expected) + '\n';
    if (!problem.remedy.empty()) text += "    " + brief_problem(problem.remedy) + '\n';
    return text;
}

std::string problems_text(const Problems& problems) {
    std::string text;
    for (const Problem& problem : problems) text += problem_text(problem);
    return text;
}

std::string problem_line(const Problem& problem) {
    std::string text;
    if (const auto* place = std::get_if<BytePlace>(&problem.place)) text = byte_text(place->offset) + ": ";
    text += brief_problem(problem.what);
    if (!problem.expected.empty()) text += " (expected: " + brief_problem(problem.expected) + ')';
    if (!problem.remedy.empty()) text += "; " + brief_problem(problem.remedy);
    return text;
}

}  // namespace downfit::report
