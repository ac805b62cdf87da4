#include "compat/random_device.h"

#include <rapidcheck.h>

#include <algorithm>
#include <stdexcept>

#include "schema/load.h"
#include "schema/siskin.h"

namespace downfit::testing {

namespace {

constexpr int spare_byte = 15;

Json scale(double stored_from, double stored_to, double from, double to) {
    return {{"stored", {stored_from, stored_to}}, {"value", {from, to}}};
}

Json number(int at, const std::string& unit, const std::string& role, Json scale, Json range, double usual) {
    Json made{{"at", at}, {"role", role}, {"scale", std::move(scale)}, {"range", std::move(range)}, {"default", usual}};
    if (!unit.empty()) made["unit"] = unit;
    return made;
}

/// Everything that a release may have, before anything is left out.
Json all_parameters() {
    Json all;
    all["volume"] = number(0, "dB", "level", scale(0, 100, -60, 20), {-60, 20}, 0);
    all["time"] = number(1, "ms", "time", scale(0, 120, 0, 1200), {0, 1200}, 300);
    all["feedback"] = number(2, "%", "feedback", scale(0, 120, 0, 120), {0, 120}, 30);
    all["tone"] = {{"at", 3}, {"range", {0, 100}}, {"default", 50}, {"neutral", 50}, {"role", "tone"}};
    all["rate"] =
        number(4, "Hz", "rate", {{"stored", {0, 100}}, {"value", {0.1, 10}}, {"taper", "logarithmic"}}, {0.1, 10}, 1);
    all["length"] = {{"at", 5},        {"as", "uint16"}, {"unit", "ms"}, {"range", {0, 2000}},
                     {"default", 400}, {"role", "decay"}};
    all["model"] = {{"at", 7}, {"choices", {"Brook", "Weir", "Mill", "Pool"}}, {"default", "Brook"}, {"role", "model"}};
    all["mode"] = {{"at", 8}, {"choices", {"Dry", "Wet", "Both"}}, {"default", "Dry"}};
    all["fx.on"] = {{"at", 0}, {"kind", "switch"}, {"default", false}};
    all["fx.mix"] = number(1, "%", "level", scale(0, 100, 0, 100), {0, 100}, 50);
    all["fx.type"] = {{"at", 2}, {"choices", {"Reed", "Rush", "Sedge"}}, {"default", "Reed"}, {"role", "model"}};
    all["cab.on"] = {{"at", 0}, {"kind", "switch"}, {"default", true}};
    all["cab.cut"] = number(1, "Hz", "frequency", scale(0, 100, 100, 10000), {100, 10000}, 5000);
    all["depth"] = {{"at", 14}, {"range", {0, 10}}, {"default", 5}, {"when", {{"parameter", "mode"}, {"is", "Wet"}}}};
    all["voice"] = {{"at", 23}, {"range", {0, 90}}, {"default", 0}, {"role", "model"}};  // models by number alone
    all["name"] = {{"at", 16}, {"as", "text"}, {"length", 6}, {"role", "name"}};
    all["pitch"] = {{"at", 22},     {"as", "int8"},   {"unit", "cents"}, {"range", {-100, 100}},
                    {"default", 0}, {"role", "pitch"}};
    return all;
}

Json groups() {
    return {{"fx", {{"kind", "block"}, {"at", 9}, {"on-by", "fx.on"}}},
            {"cab", {{"kind", "block"}, {"at", 12}, {"on-by", "cab.on"}, {"role", "cabinet"}}}};
}

bool has_range(const Json& parameter) {
    return parameter.contains("range");
}

/// A default that lies in the range again, and on the grid.
void mend_default(Json& parameter) {
    if (!has_range(parameter)) return;
    const double least = parameter["range"][0], most = parameter["range"][1];
    for (const char* key : {"default", "neutral"}) {
        if (!parameter.contains(key)) continue;
        parameter[key] = parameter.contains("step") ? least : std::clamp<double>(parameter[key], least, most);
    }
}

/// Narrower or wider by a share of itself at either end; never without extent, and never through zero where zero has
/// no logarithm.
void change_range(Json& parameter) {
    const double least = parameter["range"][0], most = parameter["range"][1];
    const double tenth = (most - least) / 10;
    const bool logarithmic = parameter.contains("scale") && parameter["scale"].contains("taper");
    double from = least + tenth * pick(logarithmic ? 0 : -3, 4);
    double to = most - tenth * pick(-3, 4);
    if (!parameter.contains("scale")) from = std::round(from), to = std::round(to);
    // Within what the place can hold: a range beyond it is a mistake in the schema.
    if (parameter.contains("scale")) from = std::max(from, parameter["scale"]["value"][0].get<double>());
    if (parameter.value("as", "") == "int8") {
        from = std::max(from, -128.0), to = std::min(to, 127.0);
    } else if (!parameter.contains("scale")) {
        from = std::max(from, 0.0);
    }
    parameter["range"] = {from, to};
    mend_default(parameter);
}

void change_choices(Json& parameter) {
    Json& choices = parameter["choices"];
    std::string fresh = "New";
    while (std::find(choices.begin(), choices.end(), fresh) != choices.end()) fresh += '!';
    const auto at = choices.begin() + pick(0, static_cast<int>(choices.size()) - 1);
    switch (pick(0, 3)) {
        case 0: choices.insert(at, fresh); break;
        case 1: choices.push_back(fresh); break;
        case 2: choices.erase(at); break;
        default: std::swap(*at, choices.front()); break;
    }
    const std::string usual = parameter["default"];
    if (std::find(choices.begin(), choices.end(), usual) == choices.end()) parameter["default"] = choices.front();
}

/// One thing else about a parameter, where it has it.
void change(Json& parameter, bool& spare_is_free) {
    const bool choice = parameter.contains("choices");
    const bool plain_byte = !parameter.contains("as");
    switch (pick(0, 5)) {
        case 0:
        case 1:
            if (choice) {
                change_choices(parameter);
            } else if (has_range(parameter)) {
                change_range(parameter);
            }
            break;
        case 2:
            if (parameter.contains("scale")) {
                for (auto& value : parameter["scale"]["value"]) value = value.get<double>() * (1 + 0.1 * pick(1, 3));
                parameter["range"][0] =
                    std::max(parameter["range"][0].get<double>(), parameter["scale"]["value"][0].get<double>());
                mend_default(parameter);
            }
            break;
        case 3:
            if (has_range(parameter)) parameter["default"] = parameter["range"][pick_of(2)];
            mend_default(parameter);
            break;
        case 4:
            if (!choice && has_range(parameter)) {
                parameter["step"] = parameter.value("unit", "") == "Hz" ? 0.5 : 4.0;
                mend_default(parameter);
            }
            break;
        default:
            if (spare_is_free && plain_byte && parameter["at"].get<int>() > 2 && !parameter.contains("kind")) {
                parameter["at"] = spare_byte;
                spare_is_free = false;
            }
            break;
    }
}

Json changed_parameters(const Json& from) {
    Json made;
    bool spare_is_free =
        std::none_of(from.begin(), from.end(), [](const Json& parameter) { return parameter["at"] == spare_byte; });
    for (const auto& [id, parameter] : from.items()) {
        const bool needed = id == "mode" || id == "fx.on" || id == "cab.on";
        if (!needed && chance(10)) continue;
        made[id] = parameter;
        const bool grouped = id.find('.') != std::string::npos;
        bool never = false;
        if (chance(40) && id != "mode" && id != "name") change(made[id], grouped ? never : spare_is_free);
    }
    if (from.contains("tone") && from.contains("model") && made.contains("tone") && made.contains("model") &&
        chance(10))
        std::swap(made["tone"]["at"], made["model"]["at"]);
    return made;
}

/// States about half of the rules.
Json random_rules() {
    Json rules = Json::object();
    for (const schema::RuleRow& row : schema::rule_table) {
        const bool stamp = row.rule == schema::Rule::newer_stamp || row.rule == schema::Rule::older_stamp;
        if (!chance(stamp ? 90 : 50)) continue;
        const auto action = stamp && chance(95) ? 0 : pick(0, static_cast<int>(row.action_count) - 1);
        rules[std::string(row.name)] = schema::action_name(row.actions[static_cast<std::size_t>(action)]);
    }
    return rules;
}

}  // namespace

int pick(int least, int most) {
    // RapidCheck draws small numbers first; what is picked here has no size.
    return *rc::gen::resize(rc::kNominalSize, rc::gen::inRange(least, most + 1));
}

std::size_t pick_of(std::size_t count) {
    return static_cast<std::size_t>(pick(0, static_cast<int>(count) - 1));
}

bool chance(int percent) {
    return pick(1, 100) > 100 - percent;
}

RandomFiles random_files() {
    RandomFiles files;
    const int count = pick(2, 4);
    files.device = {{"format", "downfit device 1"},
                    {"device", "dipper"},
                    {"rules", random_rules()},
                    {"layouts",
                     {{"preset",
                       {{"messages",
                         {{"preset",
                           {{"bytes", "F0 7D 0B {slot} {stamp} {data...} F7"},
                            {"steps", {{{"unpack", "nibbles"}, {"order", "high-first"}}}}}}}},
                        {"preset", {"preset"}},
                        {"body", {{"size", full_body}}}}}}}};
    Json parameters;
    const Json all = all_parameters();
    for (const auto& [id, parameter] : all.items()) {
        if (id == "mode" || id == "fx.on" || id == "cab.on" || chance(75)) parameters[id] = parameter;
    }
    for (int release = 0; release < count; ++release) {
        const std::string name = std::to_string(release + 1) + ".0";
        files.device["releases"].push_back(name);
        if (release > 0) parameters = changed_parameters(parameters);
        files.releases.push_back({{"format", "downfit release 1"},
                                  {"device", "dipper"},
                                  {"release", name},
                                  {"stamp", release + 1},
                                  {"groups", groups()},
                                  {"parameters", parameters}});
    }
    return files;
}

schema::Device load_files(const RandomFiles& files) {
    std::vector<schema::SourceFile> sources{{"device.json", files.device.dump(1)}};
    for (const Json& release : files.releases)
        sources.push_back({release["release"].get<std::string>() + ".json", release.dump(1)});
    return must_load(sources);
}

dump::Entry random_entry(const RandomFiles& files, std::size_t saved) {
    dump::Entry entry;
    entry.slot = 3;
    entry.stamp = schema::Stamp{static_cast<std::int64_t>(saved) + 1};
    entry.body.assign(full_body, 0);
    for (auto& byte : entry.body) byte = static_cast<std::uint8_t>(pick(0, chance(90) ? 100 : 255));
    entry.body[5] = static_cast<std::uint8_t>(pick(0, 9));  // `length` counts to 2000
    for (const char* id : {"model", "mode"}) {
        if (!files.releases[saved]["parameters"].contains(id)) continue;
        const Json& parameter = files.releases[saved]["parameters"][id];
        const auto last = static_cast<int>(parameter["choices"].size()) - 1;
        entry.body[parameter["at"].get<std::size_t>()] =
            static_cast<std::uint8_t>(pick(0, chance(95) ? last : last + 2));
    }
    entry.body[9] = static_cast<std::uint8_t>(chance(70));
    entry.body[12] = static_cast<std::uint8_t>(chance(70));
    entry.body[11] = static_cast<std::uint8_t>(pick(0, chance(95) ? 2 : 5));
    for (std::size_t at = 16; at < 22; ++at) entry.body[at] = static_cast<std::uint8_t>('a' + pick(0, 25));
    if (chance(5)) entry.body.resize(static_cast<std::size_t>(pick(20, 26)), 7);
    return entry;
}

}  // namespace downfit::testing
