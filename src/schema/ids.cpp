#include "schema/ids.h"

#include <algorithm>
#include <charconv>
#include <utility>

namespace downfit::schema {

namespace {

std::optional<IdStep> parse_step(std::string_view text) {
    IdStep step;
    if (const std::size_t bracket = text.find('['); bracket != std::string_view::npos) {
        if (text.back() != ']') return std::nullopt;
        const std::string_view digits = text.substr(bracket + 1, text.size() - bracket - 2);
        const char* end = digits.data() + digits.size();
        const auto [stop, error] = std::from_chars(digits.data(), end, step.index);
        if (error != std::errc{} || stop != end || step.index < 1) return std::nullopt;
        text = text.substr(0, bracket);
    }
    if (!is_name(text)) return std::nullopt;
    step.name = text;
    return step;
}

}  // namespace

bool is_name(std::string_view text) {
    const auto fits = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; };
    return !text.empty() && std::ranges::all_of(text, fits);
}

std::optional<std::vector<IdStep>> parse_id(std::string_view text, bool group) {
    std::vector<IdStep> steps;
    for (std::size_t start = 0; start <= text.size();) {
        const std::size_t end = std::min(text.find('.', start), text.size());
        auto step = parse_step(text.substr(start, end - start));
        if (!step) return std::nullopt;
        steps.push_back(*std::move(step));
        start = end + 1;
    }
    if (steps.empty() || (!group && steps.back().index != 0)) return std::nullopt;
    return steps;
}

std::string plain_id(const std::vector<IdStep>& steps) {
    std::string id;
    for (const IdStep& step : steps) {
        if (!id.empty()) id += '.';
        id += step.name;
    }
    return id;
}

std::string_view group_part(std::string_view id) {
    const std::size_t point = id.rfind('.');
    return point == std::string_view::npos ? std::string_view{} : id.substr(0, point);
}

std::string_view name_part(std::string_view id) {
    const std::size_t point = id.rfind('.');
    return point == std::string_view::npos ? id : id.substr(point + 1);
}

}  // namespace downfit::schema
