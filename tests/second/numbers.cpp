// What numbers mean: kinds, settings, ends of ranges.
#include <algorithm>
#include <bit>
#include <cmath>

#include "second/curve.h"
#include "second/records.h"

namespace downfit::testing::second {
namespace {

bool is_float(const json& look) {
    const std::string as = look.value("as", "uint8");
    return as == "float32" || as == "float64";
}

Number text_of(const json& look, const std::vector<int>& bits) {
    std::string text;
    for (std::size_t i = 0; i < bits.size(); i += 8) {
        int byte = 0;
        for (std::size_t j = 0; j < 8; ++j) byte = byte * 2 + bits[i + j];
        text += static_cast<char>(byte);
    }
    const char padding = look.value("padding", std::string(" ")).at(0);
    while (!text.empty() && text.back() == padding) text.pop_back();
    return {'t', 0, 0, text};
}

}  // namespace

Number read_at(const json& look, const std::vector<Place>& places, const Bits& body, const Runs& runs) {
    Number number;
    const auto run =
        places.empty() || places.front().first.empty() ? runs.found.end() : runs.found.find(places.front().first);
    std::size_t begin = 0;
    std::size_t length = body.size();
    if (!places.empty() && !places.front().first.empty()) {
        if (run == runs.found.end()) return number;
        begin = run->second.begin;
        length = run->second.length;
    }
    const std::string as = look.value("as", "uint8");
    std::vector<int> bits;
    for (const auto& [where, place] : places) {
        const auto byte = static_cast<std::size_t>(place / 8);
        if (byte >= length && as == "text") break;
        if (byte >= length) return number;
        bits.push_back(body[begin + byte] >> (place % 8) & 1);
    }
    if (bits.empty()) return number;
    if (as == "text") return text_of(look, bits);
    std::uint64_t all = 0;
    for (const int bit : bits) all = all * 2 + static_cast<std::uint64_t>(bit);
    if (as == "float32") {
        const auto narrow = static_cast<std::uint32_t>(all);
        return {'r', 0, static_cast<double>(std::bit_cast<float>(narrow)), {}};
    }
    if (as == "float64") return {'r', 0, std::bit_cast<double>(all), {}};
    const double half = std::pow(2, static_cast<double>(bits.size()) - 1);
    auto plain = static_cast<double>(all);
    const std::string sign = look.value("signed", as.compare(0, 3, "int") == 0 ? "twos-complement" : "");
    if (sign == "twos-complement" && plain >= half) plain -= 2 * half;
    if (sign == "offset") plain -= half;
    if (sign == "sign-magnitude" && plain >= half) plain = -(plain - half);
    return {'w', static_cast<std::int64_t>(plain), 0, {}};
}

Number zero_in(const json& look) {
    const std::string as = look.value("as", "uint8");
    if (as == "text") return {'t', 0, 0, {}};
    if (as == "float32" || as == "float64") return {'r', 0, 0, {}};
    return {'w', look.value("signed", "") == "offset" ? static_cast<std::int64_t>(stored_ends(look).first) : 0, 0, {}};
}

std::string kind_of(const json& look, const std::vector<Label>* labels) {
    const std::string kind = look.value("kind", "");
    if (kind == "switch") return "switch";
    if (kind == "choice" || kind == "reference" || kind.empty()) {
        if (labels != nullptr) return "thing";
        if (look.contains("refers-to")) return "asset";
    }
    if (look.value("as", "uint8") == "text") return "text";
    return "number";
}

bool is_by_text(const json& look) {
    return look.contains("refers-to") && look.value("refers-by", "number") != "number";
}

bool is_nothing(const json& look, const Number& number) {
    if (is_by_text(look)) return number.text.empty();
    return look.contains("refers-to") && look.contains("nothing") && look["nothing"] == number.whole;
}

bool is_as_base(const json& look, const Number& number) {
    return look.contains("overrides") && look.contains("as-base") && look["as-base"] == number.whole;
}

std::pair<double, double> stored_ends(const json& look) {
    const double width = static_cast<double>(places_of(look, "", 0).size());
    const std::string as = look.value("as", "uint8");
    const std::string sign = look.value("signed", as.compare(0, 3, "int") == 0 ? "twos-complement" : "");
    const double half = std::pow(2, width - 1);
    if (sign == "sign-magnitude") return {1 - half, half - 1};
    if (!sign.empty()) return {-half, half - 1};
    return {0, 2 * half - 1};
}

std::optional<std::pair<double, double>> value_ends(const json& look) {
    if (look.contains("range")) return std::pair{look["range"][0].get<double>(), look["range"][1].get<double>()};
    if (is_float(look)) return std::nullopt;
    const json scale = look.value("scale", json());
    const auto [low, high] = stored_ends(look);
    const double a = value_by(scale, low);
    const double b = value_by(scale, high);
    return std::pair{std::min(a, b), std::max(a, b)};
}

Number stored_for(const json& setting, const json& look, const std::vector<Label>* labels) {
    Number number;
    if (look.value("kind", "") == "switch") {
        const std::int64_t on = look.value("on", std::int64_t{1});
        const bool wanted = setting.is_boolean() ? setting.get<bool>() : setting.get<double>() != 0;
        return {'w', wanted ? on : (on == 0 ? 1 : 0), 0, {}};
    }
    if (setting.is_string()) {
        if (labels == nullptr) return {'t', 0, 0, setting.get<std::string>()};
        for (const Label& label : *labels) {
            if (label.label == setting) return {'w', label.number, 0, {}};
        }
        return number;
    }
    const double stored = stored_by(look.value("scale", json()), setting.get<double>());
    if (std::isnan(stored)) return number;
    if (!is_float(look)) return {'w', std::llround(stored), 0, {}};
    const bool single = look["as"] == "float32";
    return {'r', 0, single ? static_cast<double>(static_cast<float>(stored)) : stored, {}};
}

const std::map<std::string, std::vector<std::string>>& possibilities() {
    static const std::map<std::string, std::vector<std::string>> all{
        {"out-of-range", {"clamp", "reset", "wrap", "keep", "refuse"}},
        {"off-step", {"keep", "round"}},
        {"unknown-choice", {"clamp", "reset", "first", "keep", "refuse"}},
        {"unknown-parameter", {"skip", "refuse"}},
        {"missing-parameter", {"default", "held"}},
        {"repeated-key", {"first", "last"}},
        {"long-text", {"cut", "refuse"}},
        {"longer-image", {"ignore", "refuse"}},
        {"shorter-image", {"default", "zero", "held", "refuse"}},
        {"newer-stamp", {"load", "refuse"}},
        {"older-stamp", {"load", "refuse"}},
    };
    return all;
}

}  // namespace downfit::testing::second
