#include "second/held.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "second/curve.h"

namespace downfit::testing::second {
namespace {

/// Every condition that a line or spot is written with.
std::vector<json> conditions_in(const json& says) {
    std::vector<json> conditions;
    if (says.contains("when")) conditions.push_back(says["when"]);
    for (const char* key : {"reads", "varies"}) {
        for (const json& one : says.value(key, json::array())) conditions.push_back(one["when"]);
    }
    return conditions;
}

/// Comparisons with parameters in a condition, however deep.
void comparisons_in(const json& condition, std::vector<json>& found) {
    for (const char* key : {"all", "any"}) {
        for (const json& part : condition.value(key, json::array())) comparisons_in(part, found);
    }
    if (condition.contains("not")) comparisons_in(condition["not"], found);
    if (condition.contains("parameter")) found.push_back(condition);
}

/// The lines whose values decide whether the line is there and what its number means, however far back.
void asked_by(const Sheet& sheet, const std::string& name, std::set<std::string>& found) {
    const Line& line = sheet.lines.at(name);
    std::vector<std::pair<std::string, json>> written = {{line.spot, line.entry->says}};
    for (const Spot* around : sheet.around(line.spot)) written.emplace_back(around->name, around->entry->says);
    for (const auto& [spot, says] : written) {
        for (const json& condition : conditions_in(says)) {
            std::vector<json> comparisons;
            comparisons_in(condition, comparisons);
            for (const json& one : comparisons) {
                const std::string asked = sheet.meant(one["parameter"], spot);
                if (found.insert(asked).second && sheet.lines.contains(asked)) asked_by(sheet, asked, found);
            }
        }
    }
}

/// Every comparison of the release, with the line that it asks.
std::vector<std::pair<std::string, json>> all_comparisons(const Sheet& sheet) {
    std::vector<std::pair<std::string, json>> all;
    const auto add = [&](const json& says, const std::string& spot) {
        for (const json& condition : conditions_in(says)) {
            std::vector<json> found;
            comparisons_in(condition, found);
            for (const json& one : found) all.emplace_back(sheet.meant(one["parameter"], spot), one);
        }
    };
    for (const auto& [name, line] : sheet.lines) add(line.entry->says, line.spot);
    for (const auto& [name, spot] : sheet.spots) {
        // A group without parameters asks nothing of anybody.
        const bool used = std::any_of(sheet.lines.begin(), sheet.lines.end(), [&](const auto& line) {
            for (const Spot* around : sheet.around(line.second.spot)) {
                if (around->name == name) return true;
            }
            return false;
        });
        if (used) add(spot.entry->says, name);
    }
    return all;
}

/// The least and the most stored number that the range, or else the place, allows.
std::pair<double, double> ends_of(const Had& had) {
    if (!had.look.contains("range")) return stored_ends(had.look);
    const json scale = had.look.value("scale", json());
    double low = std::round(stored_by(scale, had.look["range"][0]));
    double high = std::round(stored_by(scale, had.look["range"][1]));
    if (low > high) std::swap(low, high);
    return {low, high};
}

std::vector<Number> may_have_held(const Sheet& sheet, const std::string& name, const Had& had) {
    std::set<std::int64_t> numbers;
    if (had.now.form != 'w') return {};
    if (had.look.value("kind", "") == "switch") {
        const auto on = had.look.value("on", std::int64_t{1});
        numbers = {on, on == 0 ? 1 : 0};
    } else if (had.labels != nullptr) {
        for (const Label& label : *had.labels) numbers.insert(label.number);
    } else {
        const auto [low, high] = ends_of(had);
        constexpr double all_of = 31;
        numbers = {std::llround(low), std::llround(high)};
        if (high - low <= all_of) {
            for (double number = low; number <= high; ++number) numbers.insert(std::llround(number));
        } else {
            // Nothing changes but where a condition begins or ends to hold.
            for (const auto& [asked, condition] : all_comparisons(sheet)) {
                if (asked != name) continue;
                for (const auto& [word, setting] : condition.items()) {
                    for (const json& one : setting.is_array() ? setting : json::array({setting})) {
                        if (word == "parameter" || !one.is_number()) continue;
                        const double stored = stored_by(had.look.value("scale", json()), one.get<double>());
                        if (!(stored >= low && stored <= high)) continue;
                        for (const double near : {stored - 1, stored, stored + 1}) {
                            if (near >= low && near <= high) numbers.insert(std::llround(near));
                        }
                    }
                }
            }
        }
    }
    std::vector<Number> held;
    for (const std::int64_t number : numbers) held.push_back({'w', number, 0, {}});
    return held;
}

/// Tries everything that may be held, switches together, the rest one after another.
class Trial {
public:
    Trial(const Manual& manual, const Sheet& sheet, const Shelf& shelf, const Body& body, const World& world,
          std::size_t most, std::vector<Played>& plays)
        : manual_(manual),
          sheet_(sheet),
          shelf_(shelf),
          body_(body),
          world_(world),
          most_(most),
          plays_(plays),
          hangs_(sheet.hangs) {}

    bool run(const HeldBefore& held) {
        Played played = play(manual_, sheet_, shelf_, body_, world_, held);
        std::vector<std::string> switches, others;
        for (const auto& [name, had] : played.had) {
            const auto hangs = hangs_.find(name);
            if (!had.exists || had.did != "held" || hangs == hangs_.end()) continue;
            if (may_have_held(sheet_, name, had).empty()) continue;
            const bool plain = hangs->second == Hangs::on && had.look.value("kind", "") == "switch";
            (plain ? switches : others).push_back(name);
        }
        if (switches.empty() && others.empty()) {
            if (plays_.size() >= most_) return false;
            plays_.push_back(std::move(played));
            return true;
        }
        if (!switches.empty()) {
            for (const bool on : {false, true}) {
                HeldBefore more = held;
                for (const std::string& name : switches) more[name] = position(played.had.at(name), on);
                if (!run(more)) return false;
            }
            return true;
        }
        const std::string name = first_of(others);
        for (const Number& number : may_have_held(sheet_, name, played.had.at(name))) {
            HeldBefore more = held;
            more[name] = number;
            if (!run(more)) return false;
        }
        return true;
    }

private:
    /// The first whose meaning hangs on none of the others: what those mean is not known yet.
    std::string first_of(const std::vector<std::string>& others) const {
        for (const std::string& name : others) {
            std::set<std::string> asked;
            asked_by(sheet_, name, asked);
            const auto hangs = [&](const std::string& other) { return other != name && asked.contains(other); };
            if (std::none_of(others.begin(), others.end(), hangs)) return name;
        }
        return others.front();
    }

    static Number position(const Had& had, bool on) {
        const auto number = had.look.value("on", std::int64_t{1});
        return {'w', on ? number : number == 0 ? 1 : 0, 0, {}};
    }

    const Manual& manual_;
    const Sheet& sheet_;
    const Shelf& shelf_;
    const Body& body_;
    const World& world_;
    std::size_t most_;
    std::vector<Played>& plays_;
    const std::map<std::string, Hangs>& hangs_;
};

}  // namespace

std::map<std::string, Hangs> bearing_lines(const Sheet& sheet) {
    std::map<std::string, Hangs> hangs;
    const auto add = [&](const std::string& line, Hangs what) {
        if (line.empty()) return;
        const auto [at, fresh] = hangs.emplace(line, what);
        if (!fresh) at->second = std::max(at->second, what);
    };
    for (const auto& [line, condition] : all_comparisons(sheet)) add(line, Hangs::more);
    for (const auto& [name, spot] : sheet.spots) {
        const json& says = spot.entry->says;
        if (says.contains("on-by")) add(sheet.meant(says["on-by"], name), Hangs::on);
        for (const char* key : {"count-by", "selected-by", "start-by", "controls", "heel", "toe"}) {
            if (says.contains(key)) add(sheet.meant(says[key], name), Hangs::more);
        }
    }
    for (const auto& [name, line] : sheet.lines) {
        const json& says = line.entry->says;
        if (says.contains("list") && says["list"].contains("count-by"))
            add(sheet.meant(says["list"]["count-by"], line.spot), Hangs::more);
    }
    // What overrides a line in a scene, or as another's base, decides as much as the line itself.
    const std::map<std::string, Hangs> direct = hangs;
    for (const auto& [name, line] : sheet.lines) {
        if (!line.entry->says.contains("overrides")) continue;
        const auto target = direct.find(sheet.meant(line.entry->says["overrides"], line.spot));
        if (target != direct.end()) add(name, target->second);
    }
    return hangs;
}

bool add_plays(const Manual& manual, const Sheet& sheet, const Shelf& shelf, const Body& body, const World& world,
               std::size_t most, std::vector<Played>& plays) {
    return Trial(manual, sheet, shelf, body, world, most, plays).run({});
}

}  // namespace downfit::testing::second
