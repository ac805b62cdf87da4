#include "report/problems.h"

#include <algorithm>
#include <string_view>

#include "base/text.h"
#include "report/escape.h"
#include "report/layout.h"

namespace downfit::report {

namespace {

struct PlaceTextWriter {
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

/// The check that a problem tells of: what it says before the numbers.
std::string failed_check(const Problem& problem) {
    const std::size_t numbers = problem.what.find(" is ");
    const bool check = problem.what.find("the check ") < numbers || problem.what.find("the length") < numbers;
    return check && numbers != std::string::npos ? problem.what.substr(0, numbers) : std::string();
}

}  // namespace

std::string byte_text(std::size_t offset) {
    return "byte " + std::to_string(offset) + " (0x" + hex_text(offset) + ')';
}

std::string place_text(const Place& place) {
    return std::visit(PlaceTextWriter{}, place);
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
    if (const auto* place = std::get_if<TextPlace>(&problem.place); place != nullptr && place->line > 0)
        text = "line " + std::to_string(place->line) + ", column " + std::to_string(place->column) + ": ";
    text += brief_problem(problem.what);
    if (!problem.expected.empty()) text += " (expected: " + brief_problem(problem.expected) + ')';
    if (!problem.remedy.empty()) text += "; " + brief_problem(problem.remedy);
    return text;
}

std::string failing_alike(const std::vector<const Problems*>& damage) {
    constexpr std::size_t enough = 3;
    if (damage.size() < enough || damage.front()->empty()) return {};
    const std::string check = failed_check(damage.front()->front());
    const bool alike = std::all_of(damage.begin(), damage.end(), [&](const Problems* problems) {
        return !problems->empty() && failed_check(problems->front()) == check;
    });
    if (check.empty() || !alike) return {};
    return "All " + std::to_string(damage.size()) + " presets fail alike (" + printable(check) +
           "): if the device file is new, look at the check's kind, at what it covers, and at its place among the "
           "steps.";
}

}  // namespace downfit::report
