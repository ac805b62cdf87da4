// Random parameters, conditions, rules.
#include <algorithm>
#include <cmath>

#include "second/curve.h"
#include "second/generate.h"

namespace downfit::testing::second {
namespace {

json make_scale(Draws& draws, const json& says) {
    const auto [low, high] = stored_ends(says);
    const std::string taper =
        draws.one_of<std::string>({"linear", "linear", "falling", "table", "logarithmic", "audio", "power", "volume"});
    const double first = draws.chance(30) && high > 10 ? static_cast<double>(draws.between(0, 3)) : low;
    const double a = draws.one_of({0.0, 1.0, -60.0, 20.0, 0.1, -12.0});
    const double b = a + draws.one_of({100.0, 10.0, 72.0, 1.0, 12.7, 5000.0});
    if (taper == "falling") return {{"stored", {first, high}}, {"value", {b, a}}};
    if (taper == "table") {
        const double middle = std::floor((first + high) / 2);
        if (middle <= first || middle >= high) return {{"stored", {first, high}}, {"value", {a, b}}};
        return {{"stored", {first, middle, high}}, {"value", {a, a + (b - a) * 0.2, b}}};
    }
    if (taper == "logarithmic") {
        const double from = a > 0 ? a : 20;
        return {{"stored", {first, high}}, {"value", {from, from + b - a}}, {"taper", taper}};
    }
    if (taper == "audio" || taper == "power") {
        return {
            {"stored", {first, high}}, {"value", {a, b}}, {"taper", taper}, {"curve", draws.one_of({2.0, 3.0, 0.5})}};
    }
    if (taper == "volume" && low == 0)
        return {{"stored", {0, high}}, {"value", {draws.one_of({0, 6, 12})}}, {"taper", taper}};
    return {{"stored", {first, high}}, {"value", {a, b}}};
}

/// A value that the place can hold, or one just beside it.
double make_value(Draws& draws, const json& says, double low, double high) {
    const json scale = says.value("scale", json());
    double stored = low + static_cast<double>(draws.below(static_cast<std::int64_t>(std::min(high - low, 1e6)) + 1));
    if (draws.chance(15)) stored += draws.one_of({0.3, -0.3});
    const double value = value_by(scale, stored);
    return std::isfinite(value) ? value : value_by(scale, low + 1);
}

json make_real(Draws& draws) {
    json says{{"as", draws.chance(20) ? "float64" : "float32"}};
    if (draws.chance(30)) says["order"] = "little";
    return says;
}

}  // namespace

void give_meaning(Draws& draws, json& says) {
    for (const char* key : {"scale", "range", "plays", "step", "default", "neutral", "unit", "role"}) says.erase(key);
    const bool real = says.value("as", "").compare(0, 5, "float") == 0;
    double low = 0;
    double high = 100;
    if (real) {
        says["range"] = {draws.one_of({0.0, -10.0, 0.1}), draws.one_of({1.0, 10.0, 99.5})};
    } else {
        std::tie(low, high) = stored_ends(says);
        if (draws.chance(40)) says["scale"] = make_scale(draws, says);
        if (draws.chance(70)) {
            double a = make_value(draws, says, low, high);
            double b = make_value(draws, says, low, high);
            if (a > b) std::swap(a, b);
            says["range"] = {a, b};
        }
    }
    if (says.contains("range") && draws.chance(25)) {
        const double span = says["range"][1].get<double>() - says["range"][0].get<double>() + 1;
        says["plays"] = {says["range"][0].get<double>() - span * 0.1, says["range"][1].get<double>() + span * 0.2};
    }
    if (draws.chance(25)) {
        if (real)
            says["step"] = draws.one_of({0.5, 0.1});
        else if (!says.contains("scale"))
            says["step"] = draws.one_of({2, 3, 5});
        else if (says.contains("range"))
            says["step"] = std::max(0.0137, (says["range"][1].get<double>() - says["range"][0].get<double>()) /
                                                draws.one_of({4.1, 10.3, 33.7}));
    }
    for (const char* key : {"default", "neutral"}) {
        if (!draws.chance(60)) continue;
        double value = real ? draws.one_of({0.5, 1.0, 0.1}) : make_value(draws, says, low, high);
        if (says.contains("range"))
            value = std::clamp(value, says["range"][0].get<double>(), says["range"][1].get<double>());
        says[key] = value;
    }
    if (draws.chance(40))
        says["unit"] = draws.one_of<std::string>(
            {"dB", "Hz", "kHz", "ms", "s", "cents", "semitones", "bpm", "%", "ratio", "degrees"});
    if (draws.chance(50)) {
        says["role"] = draws.one_of<std::string>({"level", "tone", "pitch", "frequency", "q", "time", "decay", "rate",
                                                  "tempo", "feedback", "mix", "pan", "cosmetic"});
    }
}

std::int64_t bytes_taken(const json& says) {
    std::int64_t most = 0;
    json here = says;
    if (!here.contains("at")) here["at"] = 0;
    const std::int64_t from = here["at"].is_number() ? here["at"].get<std::int64_t>() : 0;
    for (const auto& [run, bit] : places_of(here, "", 0)) most = std::max(most, bit / 8 + 1 - from);
    return most;
}

json make_parameter(Draws& draws) {
    const std::int64_t kind = draws.below(20);
    json says = json::object();
    if (kind >= 18) {
        says = {{"as", "text"}, {"length", draws.between(1, 3)}};
        if (draws.chance(40)) says["default"] = draws.one_of<std::string>({"a", "bc"});
        if (draws.chance(40)) says["neutral"] = draws.one_of<std::string>({"", "a"});
        if (draws.chance(40)) says["role"] = "name";
        return says;
    }
    if (kind >= 16) {
        if (draws.chance(50)) says["on"] = draws.one_of({0, 2, 127});
        says["kind"] = "switch";
        if (draws.chance(50)) says["default"] = draws.chance(50);
        if (draws.chance(50)) says["neutral"] = draws.chance(50);
        return says;
    }
    if (kind >= 15) {
        says = {{"refers-to", "impulse-response"}, {"scale", {{"stored", {0, 127}}, {"value", {1, 128}}}}};
        if (draws.chance(60)) says["nothing"] = draws.one_of({0, 127});
        if (draws.chance(50)) says["range"] = {1, draws.between(2, 20)};
        if (draws.chance(50)) says["default"] = draws.between(1, 2);
        return says;
    }
    if (kind >= 10) {
        json labels = json::object();
        std::int64_t number = draws.chance(20) ? 1 : 0;
        const std::int64_t count = draws.between(1, 5);
        for (std::int64_t i = 0; i < count; ++i) {
            labels["c" + std::to_string(i)] = number;
            number += draws.chance(20) ? 2 : 1;
        }
        says["choices"] = labels;
        if (draws.chance(50)) says["default"] = "c" + std::to_string(draws.below(count));
        if (draws.chance(50)) says["neutral"] = "c" + std::to_string(draws.below(count));
        if (draws.chance(60)) says["role"] = draws.one_of<std::string>({"model", "tone", "cosmetic"});
        if (draws.chance(30)) says["as"] = "bits", says["bit"] = draws.below(4), says["width"] = 4;
        return says;
    }
    if (kind >= 9) {
        says = make_real(draws);
    } else if (kind >= 8) {
        says["at"] = {{{"byte", 0}, {"bit", draws.below(4)}, {"width", 4}},
                      {{"byte", 1}, {"bit", draws.below(5)}, {"width", 3}}};
        if (draws.chance(30))
            says["as"] = "bits", says["signed"] = "twos-complement";
        else
            says["as"] = "bits";
    } else if (kind >= 6) {
        says = {{"as", "bits"}, {"bit", draws.below(3)}, {"width", draws.between(2, 5)}};
        if (draws.chance(50))
            says["signed"] = draws.one_of<std::string>({"twos-complement", "offset", "sign-magnitude"});
    } else if (kind >= 2) {
        says["as"] = draws.one_of<std::string>({"uint8", "int8", "uint16", "int16"});
        if (says["as"].get<std::string>().find("16") != std::string::npos && draws.chance(40)) says["order"] = "little";
    }
    give_meaning(draws, says);
    return says;
}

int number_in(const std::string& id) {
    const auto dot = id.rfind('.');
    return std::stoi(id.substr(dot == std::string::npos ? 1 : dot + 2));
}

json make_condition(Draws& draws, const Manual& manual, int under, const std::string& path) {
    if (draws.chance(12)) {
        const std::string release = draws.one_of<std::string>({"1.0", "2.0"});
        return {{"stamp", {{draws.one_of<std::string>({"at-least", "is", "below", "at-most", "above"}), release}}}};
    }
    if (draws.chance(6))
        return {{"bytes", {{"at", draws.below(2)}, {"are", draws.one_of<std::string>({"00", "01", "05"})}}}};
    std::vector<std::string> usable;
    for (const auto& [id, entry] : manual.parameters) {
        const auto dot = id.rfind('.');
        const std::string group = dot == std::string::npos ? "" : id.substr(0, dot);
        const bool near = group.empty() || group == path || (path + ".").compare(0, group.size() + 1, group + ".") == 0;
        if (number_in(id) < under && near && !entry.says.contains("refers-to") && !entry.says.contains("list"))
            usable.push_back(id);
    }
    if (usable.empty()) return nullptr;
    if (draws.chance(15)) {
        json parts = json::array();
        for (int i = 0; i < 2; ++i) {
            const json part = make_condition(draws, manual, under, path);
            if (!part.is_null()) parts.push_back(part);
        }
        return {{draws.one_of<std::string>({"all", "any"}), parts}};
    }
    if (draws.chance(10)) {
        const json part = make_condition(draws, manual, under, path);
        if (!part.is_null()) return {{"not", part}};
    }
    const std::string id = draws.one_of(usable);
    const Entry& entry = manual.parameters.at(id);
    json condition{{"parameter", id}};
    if (!entry.labels.empty()) {
        const std::string label = draws.one_of(entry.labels).label;
        if (draws.chance(30))
            condition["is"] = {label, draws.one_of(entry.labels).label};
        else
            condition["is"] = label;
    } else if (entry.says.value("kind", "") == "switch") {
        condition["is"] = !draws.chance(30);
    } else if (entry.says.value("as", "") == "text") {
        condition["is"] = draws.one_of<std::string>({"a", "", "bc"});
    } else {
        double value = value_by(entry.says.value("scale", json()), static_cast<double>(draws.below(8)));
        if (!std::isfinite(value)) value = 0;
        condition[draws.one_of<std::string>({"at-least", "is", "at-most", "above", "below"})] = value;
        if (draws.chance(10)) condition["at-most"] = value + 1;
    }
    return condition;
}

void give_rule(Draws& draws, json& rules, bool of_parameter) {
    std::string rule =
        draws.one_of<std::string>({"out-of-range", "unknown-choice", "off-step", "out-of-range", "unknown-choice",
                                   "shorter-image", "missing-parameter", "long-text", "tolerance", "refuses",
                                   "longer-image", "repeated-key", "unknown-parameter"});
    if (of_parameter && rule == "longer-image") rule = "out-of-range";
    if (rule == "tolerance")
        rules[rule] = draws.one_of({0.5, 1.0, 3.0, 0.01});
    else if (rule == "refuses")
        rules[rule] = draws.one_of<std::string>({"parameter", "block", "preset"});
    else
        rules[rule] = draws.one_of(possibilities().at(rule));
}

json make_rules(Draws& draws) {
    json rules = json::object();
    std::size_t open = 1;
    for (const auto& [rule, words] : possibilities()) {
        const bool of_stamps = rule.find("stamp") != std::string::npos;
        const bool leave_open = draws.chance(of_stamps ? 3 : 25);
        if (leave_open && open * words.size() <= 10) {
            open *= words.size();
        } else {
            std::string word = of_stamps && !draws.chance(2) ? words.front() : draws.one_of(words);
            // Otherwise most presets would be refused, and nothing be compared.
            if (word == "refuse" && !draws.chance(30)) word = words.front();
            rules[rule] = word;
        }
    }
    if (draws.chance(20)) rules["refuses"] = draws.one_of<std::string>({"parameter", "block", "preset", "dump"});
    if (draws.chance(15)) rules["tolerance"] = draws.one_of({0.5, 1.0, 3.0});
    return rules;
}

void give_revoicing(Draws& draws, const Manual& manual, json& file) {
    for (const auto& [id, entry] : manual.parameters) {
        if (entry.labels.empty() || entry.says.value("refers-to", "") == "parameter" || !draws.chance(70)) continue;
        for (const Label& label : entry.labels) {
            if (!draws.chance(50)) continue;
            json& says = file["revoiced"][id][label.label] = json::object();
            if (draws.chance(70)) says["weight"] = draws.one_of<std::string>({"slight", "audible", "severe"});
            if (draws.chance(60)) says["level-change"] = draws.one_of({0.5, -7.0, 3.0, 6.0, -3.5});
        }
    }
}

}  // namespace downfit::testing::second
