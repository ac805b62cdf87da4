#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "schema/read_parameter.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 4> scale_keys{"stored", "value", "taper", "curve"};

static_assert(static_cast<std::size_t>(Unit::degrees) == unit_words.size());
static_assert(static_cast<std::size_t>(Role::cosmetic) == role_words.size());

std::optional<std::vector<double>> read_numbers(const Node* node, Problems& problems) {
    const auto* items = node ? read_list(*node, "numbers", problems) : nullptr;
    if (!items) return std::nullopt;
    std::vector<double> numbers;
    for (const NodePtr& item : *items) {
        const auto number = read_number(*item, problems);
        if (number) numbers.push_back(*number);
    }
    if (numbers.size() != items->size()) return std::nullopt;
    return numbers;
}

class ScaleReader {
public:
    ScaleReader(const Node& node, Problems& problems)
        : reader_(node, "a scale", scale_keys, problems), problems_(problems) {}

    Scale read() {
        if (!reader_.ok()) return {};
        const Node* stored = reader_.need("stored");
        const Node* value = reader_.need("value");
        const auto taper = reader_.word("taper", taper_words);
        if (reader_.has("taper") && !taper) return {};
        scale_.taper = static_cast<Taper>(taper.value_or(0));
        const bool good_curve = read_curve();
        const auto numbers = read_numbers(stored, problems_);
        const auto values = read_numbers(value, problems_);
        if (!numbers || !values || !good_curve) return {};
        const bool good = scale_.taper == Taper::volume ? volume_points(*numbers, *values) : points(*numbers, *values);
        return good ? scale_ : Scale{};
    }

private:
    void wrong(std::string_view key, std::string what, std::string expected) {
        report(problems_, reader_.find(key)->value_place(), std::move(what), std::move(expected));
    }

    bool read_curve() {
        const bool needed = scale_.taper == Taper::audio || scale_.taper == Taper::power;
        const Node* node = reader_.find("curve");
        if (!needed) {
            if (node)
                report(problems_, node->key_place(), "\"curve\" means nothing here",
                       "\"curve\" only with audio and power");
            return !node;
        }
        if (!reader_.need("curve")) return false;
        scale_.curve = reader_.number("curve").value_or(0);
        if (scale_.curve > 0 && !(scale_.taper == Taper::audio && scale_.curve == 1)) return true;
        if (node->is(Node::Kind::number)) {
            report_found(problems_, *node,
                         scale_.taper == Taper::audio ? "a number above 0 other than 1" : "a number above 0");
        }
        return false;
    }

    bool volume_points(const std::vector<double>& stored, const std::vector<double>& values) {
        if (values.size() != 1) {
            wrong("value", "a volume scale with " + std::to_string(values.size()) + " values",
                  "one value, that of the most");
            return false;
        }
        const bool two = stored.size() == 2 && stored[0] == 0 && stored[1] > 0;
        if (!two) {
            wrong("stored", "a volume scale that does not start at 0", "[0, most]");
            return false;
        }
        scale_.points = {{0, -std::numeric_limits<double>::infinity()}, {stored[1], values[0]}};
        return true;
    }

    bool points(const std::vector<double>& stored, const std::vector<double>& values) {
        if (stored.size() != values.size() || stored.size() < 2) {
            wrong("value",
                  std::to_string(values.size()) + (values.size() == 1 ? " value for " : " values for ") +
                      std::to_string(stored.size()) + " stored numbers",
                  "two or more, as many values as stored numbers");
            return false;
        }
        const bool rising = values.back() > values.front();
        for (std::size_t i = 0; i < stored.size(); ++i) {
            scale_.points.push_back({stored[i], values[i]});
            if (i == 0) continue;
            if (stored[i] <= stored[i - 1]) {
                wrong("stored",
                      "stored numbers do not rise: " + number_text(stored[i]) + " after " + number_text(stored[i - 1]),
                      "rising numbers");
                return false;
            }
            if (values[i] == values[i - 1] || (values[i] > values[i - 1]) != rising) {
                wrong("value",
                      "values neither rise nor fall throughout: " + number_text(values[i]) + " after " +
                          number_text(values[i - 1]),
                      "values that all rise or all fall");
                return false;
            }
        }
        if (scale_.taper == Taper::logarithmic && values.front() * values.back() <= 0) {
            wrong("value", "a logarithmic scale that reaches or crosses 0", "values of one sign");
            return false;
        }
        return true;
    }

    ObjectReader reader_;
    Problems& problems_;
    Scale scale_;
};

std::optional<Range> read_range(const ObjectReader& reader, std::string_view key, Problems& problems) {
    const Node* node = reader.find(key);
    if (!node) return std::nullopt;
    if (!node->is(Node::Kind::array) || node->items.size() != 2) {
        report_found(problems, *node, "[least, most]");
        return std::nullopt;
    }
    const auto numbers = read_numbers(node, problems);
    if (!numbers) return std::nullopt;
    const Range range{(*numbers)[0], (*numbers)[1]};
    if (range.least <= range.most) return range;
    report(problems, node->value_place(),
           quoted(key) + " has the least " + number_text(range.least) + " above the most " + number_text(range.most),
           "[least, most]", "swap them");
    return std::nullopt;
}

}  // namespace

Scale read_scale(const Node& node, Problems& problems) {
    return ScaleReader(node, problems).read();
}

Meaning read_meaning(const ObjectReader& reader, Meaning meaning, const SettingTarget& target, Problems& problems) {
    if (const Node* scale = reader.find("scale")) meaning.scale = read_scale(*scale, problems);
    if (const auto unit = reader.word("unit", unit_words)) meaning.unit = static_cast<Unit>(*unit + 1);
    if (const auto role = reader.word("role", role_words)) meaning.role = static_cast<Role>(*role + 1);
    if (const auto range = read_range(reader, "range", problems)) meaning.range = range;
    if (const auto plays = read_range(reader, "plays", problems)) meaning.plays = plays;
    if (const auto step = reader.number("step")) {
        meaning.step = step;
        if (*step <= 0) report_found(problems, *reader.find("step"), "a number above 0");
    }
    if (const Node* node = reader.find("default")) {
        if (auto setting = read_setting(*node, target, problems)) meaning.preset_default = std::move(setting);
    }
    if (const Node* node = reader.find("neutral")) {
        if (auto setting = read_setting(*node, target, problems)) meaning.neutral = std::move(setting);
    }
    return meaning;
}

}  // namespace downfit::schema
