#include "second/player.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <stdexcept>

#include "second/curve.h"
#include "second/records.h"

namespace downfit::testing::second {
namespace {

struct Refused {};

bool nearly(double a, double b) {
    return a == b || (std::isfinite(a - b) && std::abs(a - b) <= 1e-9 * std::max({1e-3, std::abs(a), std::abs(b)}));
}

template <class T>
bool compares(const std::string& word, const T& left, const T& right) {
    if (word == "at-least") return left >= right;
    if (word == "at-most") return left <= right;
    if (word == "above") return left > right;
    return left < right;
}

Bits from_hex(const std::string& text) {
    Bits bytes;
    std::string digits = text;
    std::erase(digits, ' ');
    for (std::size_t i = 0; i + 1 < digits.size(); i += 2)
        bytes.push_back(static_cast<std::uint8_t>(std::stoi(digits.substr(i, 2), nullptr, 16)));
    return bytes;
}

bool stand_there(const Bits& body, std::size_t at, const Bits& wanted) {
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (at + i >= body.size() || body[at + i] != wanted[i]) return false;
    }
    return true;
}

class Player {
public:
    Player(const Manual& manual, const Sheet& sheet, const Shelf& shelf, const Body& body, const World& world,
           const HeldBefore& held)
        : manual_(manual), sheet_(sheet), shelf_(shelf), preset_(body), world_(world), held_(held), body_(body.bytes) {}

    Played play() {
        Played played;
        try {
            repair();
            accept();
            fit();
            runs_ = find_runs(manual_, sheet_, body_, rule_of_release("repeated-key") == "last");
            // An unknown record belongs to no parameter or block of this release: its refusal takes the preset.
            if (runs_.unknown && rule_of_release("unknown-parameter") == "refuse") throw Refused{};
            for (const auto& [name, line] : sheet_.lines) (void)of(name);
            refuse_blocks();
        } catch (const Refused&) {
            played.refused = true;
            return played;
        }
        played.had = std::move(had_);
        return played;
    }

private:
    // What the whole release does.

    std::string rule_of_release(const std::string& rule) const {
        if (manual_.rules.contains(rule)) return manual_.rules[rule];
        const auto said = world_.find(rule);
        return said == world_.end() ? std::string() : said->second;
    }

    std::string rule_of(const std::string& rule, const Line& line) const {
        const json own = line.entry->says.value("rules", json::object());
        return own.contains(rule) ? own[rule].get<std::string>() : rule_of_release(rule);
    }

    void repair() {
        for (const json& one : manual_.repairs) {
            const std::size_t at = one["if"]["at"];
            if (!stand_there(body_, at, from_hex(one["if"]["bytes"]))) continue;
            const Bits instead = from_hex(one["read-as"]);
            for (std::size_t i = 0; i < instead.size() && at + i < body_.size(); ++i) body_[at + i] = instead[i];
        }
    }

    void accept() {
        bool of_stamps = false;
        for (const json& one : manual_.accepts) {
            if (one.contains("bytes") && !stand_there(body_, one["bytes"]["at"], from_hex(one["bytes"]["are"])))
                throw Refused{};
            if (one.contains("slot") && preset_.slot >= 0) {
                for (const auto& [word, limit] : one["slot"].items()) {
                    const auto slot = static_cast<double>(preset_.slot);
                    const bool good =
                        word == "is" ? slot == limit.get<double>() : compares(word, slot, limit.get<double>());
                    if (!good) throw Refused{};
                }
            }
            if (!one.contains("stamp")) continue;
            of_stamps = true;
            if (preset_.stamp && !stamp_is(one["stamp"])) throw Refused{};
        }
        if (of_stamps || !preset_.stamp || *preset_.stamp == manual_.order) return;
        if (rule_of_release(*preset_.stamp > manual_.order ? "newer-stamp" : "older-stamp") == "refuse")
            throw Refused{};
    }

    void fit() {
        if (!manual_.body().contains("size") || manual_.body().contains("records")) return;
        const std::size_t size = manual_.body()["size"];
        if (body_.size() > size) {
            if (rule_of_release("longer-image") == "refuse") throw Refused{};
            body_.resize(size);
        } else if (body_.size() < size) {
            beyond_ = rule_of_release("shorter-image");
            if (beyond_ == "refuse") throw Refused{};
        }
    }

    // Conditions.

    bool stamp_is(const json& wanted) const {
        for (const auto& [word, names] : wanted.items()) {
            bool good = false;
            if (names.is_array()) {
                for (const json& name : names) good = good || *preset_.stamp == order_of(shelf_, name);
            } else if (word == "is") {
                good = *preset_.stamp == order_of(shelf_, names);
            } else {
                good = compares(word, *preset_.stamp, order_of(shelf_, names));
            }
            if (!good) return false;
        }
        return true;
    }

    bool is_setting(const json& setting, const Had& had) const {
        if (setting.is_boolean()) return (had.value != 0) == setting.get<bool>();
        if (setting.is_string()) {
            if (had.labels == nullptr) return had.now.text == setting;
            for (const Label& label : *had.labels) {
                if (label.number == had.now.whole) return label.label == setting;
            }
            return false;
        }
        return nearly(had.value, setting.get<double>());
    }

    bool holds(const json& condition, const std::string& spot) {
        if (condition.contains("all")) {
            bool all = true;
            for (const json& part : condition["all"]) all = holds(part, spot) && all;
            return all;
        }
        if (condition.contains("any")) {
            bool any = false;
            for (const json& part : condition["any"]) any = holds(part, spot) || any;
            return any;
        }
        if (condition.contains("not")) return !holds(condition["not"], spot);
        if (condition.contains("stamp")) return preset_.stamp && stamp_is(condition["stamp"]);
        if (condition.contains("bytes"))
            return stand_there(body_, condition["bytes"]["at"], from_hex(condition["bytes"]["are"]));
        if (condition.contains("version")) return version_holds(condition["version"], spot);
        const Had had = of(sheet_.meant(condition.at("parameter"), spot));
        if (!had.exists) return false;
        for (const auto& [word, setting] : condition.items()) {
            if (word == "parameter") continue;
            bool good = false;
            if (setting.is_array()) {
                for (const json& one : setting) good = good || is_setting(one, had);
            } else {
                good = word == "is" ? is_setting(setting, had) : compares(word, had.value, setting.get<double>());
            }
            if (!good) return false;
        }
        return true;
    }

    bool version_holds(const json& wanted, const std::string& spot) const {
        for (const Spot* at : sheet_.around(spot)) {
            if (!at->entry->says.contains("tag")) continue;
            const auto run = runs_.found.find(at->run);
            if (run == runs_.found.end() || !run->second.version) return false;
            const auto version = static_cast<double>(*run->second.version);
            for (const auto& [word, limit] : wanted.items()) {
                const bool good =
                    word == "is" ? version == limit.get<double>() : compares(word, version, limit.get<double>());
                if (!good) return false;
            }
            return true;
        }
        return false;
    }

    bool reaches(const std::string& parameter, int index, const std::string& spot) {
        const Had had = of(sheet_.meant(parameter, spot));
        return had.exists && had.value >= index;
    }

    bool exists(const Line& line) {
        bool all = true;
        for (const Spot* spot : sheet_.around(line.spot)) {
            const json& says = spot->entry->says;
            if (says.contains("tag")) {
                const auto run = runs_.found.find(spot->run);
                if (run == runs_.found.end()) return false;
                if (says.contains("version-at-most") && run->second.version &&
                    *run->second.version > says["version-at-most"].get<std::int64_t>()) {
                    const std::string what = says.value("rules", json::object()).value("refuses", "block");
                    if (what == "preset" || what == "dump") throw Refused{};
                    return false;
                }
            }
            if (says.contains("count-by")) all = reaches(says["count-by"], spot->numbers.back(), spot->name) && all;
            if (says.contains("when")) all = holds(says["when"], spot->name) && all;
        }
        const json& says = line.entry->says;
        if (line.element > 0 && says["list"].contains("count-by"))
            all = reaches(says["list"]["count-by"], line.element, line.spot) && all;
        if (says.contains("when")) all = holds(says["when"], line.spot) && all;
        return all;
    }

    // One line.

    const Had& of(const std::string& name) {
        static const Had nowhere;
        if (name.empty()) return nowhere;
        const auto known = had_.find(name);
        if (known != had_.end()) return known->second;
        Had had = load(sheet_.lines.at(name));
        return had_[name] = std::move(had);
    }

    Had load(const Line& line) {
        Had had;
        had.exists = exists(line);
        choose_look(line, had);
        had.places = places_of(had.look, line.run, line.base);
        had.stood = read_at(had.look, had.places, body_, runs_);
        had.bits = bits_at(had.places, runs_);
        had.read = had.stood.form != '-';
        had.now = had.stood;
        if (!had.read) {
            if (!miss(line, had)) return had;
        }
        mean(had);
        if (had.exists) apply_rules(line, had);
        return had;
    }

    void choose_look(const Line& line, Had& had) {
        const json& says = line.entry->says;
        had.look = Look(says);
        had.labels = line.entry->labels.empty() ? nullptr : &line.entry->labels;
        bool found = false;
        for (const json& read : says.value("reads", json::array())) {
            // Every condition is asked, so that what nobody said is noticed; the first that holds counts.
            if (found || !holds(read["when"], line.spot)) continue;
            found = true;
            had.look.change([&](json& look) { lay_over(read, look); });
        }
        if (found) return;
        for (const json& varied : says.value("varies", json::array())) {
            if (found || !holds(varied["when"], line.spot)) continue;
            found = true;
            had.look.change([&](json& look) { lay_over(varied, look); });
            if (!varied.contains("choices")) continue;
            had.varied = std::make_shared<const std::vector<Label>>(labels_in(varied["choices"], line.entry->labels));
        }
    }

    static void lay_over(const json& changes, json& look) {
        // Another place takes nothing over from the one that is written first.
        if (changes.contains("at")) {
            for (const char* key : {"at", "as", "order", "bit", "width", "signed", "length"}) look.erase(key);
        }
        for (const auto& [key, value] : changes.items()) {
            if (key != "when") look[key] = value;
        }
    }

    /// Nothing was there to read. False where that settles it.
    bool miss(const Line& line, Had& had) {
        const bool in_record = !line.run.empty();
        std::string what = beyond_;
        if (in_record) what = had.exists ? rule_of("missing-parameter", line) : std::string();
        const json own = line.entry->says.value("rules", json::object());
        if (!in_record && own.contains("shorter-image")) what = own["shorter-image"];
        if (what == "refuse") {
            had.now = zero_in(had.look);
            mean(had);
            if (had.exists) refuse_line(line, had);
            had.did = "refuse";
            return false;
        }
        if (what == "zero") {
            had.stood = had.now = zero_in(had.look);
            return true;
        }
        if (const auto before = held_.find(line.name); what == "held" && before != held_.end()) {
            had.now = before->second;
            mean(had);
            return false;
        }
        had.did = what == "held" ? "held" : "default";
        had.now = zero_in(had.look);
        const Number given = default_of(had);
        if (what != "held" && given.form != '-') had.now = given;
        mean(had);
        return false;
    }

    /// The number of the stated default; none where none is stated, or no number gives it (0 on a logarithmic scale).
    static Number default_of(const Had& had) {
        return had.look.contains("default") ? stored_for(had.look["default"], had.look, labels_of(had)) : Number{};
    }

    static const std::vector<Label>* labels_of(const Had& had) { return had.varied ? had.varied.get() : had.labels; }

    static void mean(Had& had) {
        if (had.varied) had.labels = had.varied.get();
        had.thing.clear();
        if (had.now.form == 't') return;
        if (had.labels != nullptr) {
            had.value = static_cast<double>(had.now.whole);
            for (const Label& label : *had.labels) {
                if (label.number == had.now.whole) had.thing = label.origin;
            }
        } else if (had.look.value("kind", "") == "switch") {
            had.value = had.now.whole == had.look.value("on", std::int64_t{1}) ? 1 : 0;
        } else {
            had.value = value_by(had.look.value("scale", json()), had.now.plain());
        }
    }

    static void put(Had& had, const Number& number, const std::string& did) {
        had.now = number;
        had.did = did;
        mean(had);
    }

    void refuse(const json& rules) {
        const std::string what = rules.value("refuses", manual_.rules.value("refuses", "preset"));
        if (what == "preset" || what == "dump") throw Refused{};
    }

    void refuse_line(const Line& line, Had& had) {
        const json own = line.entry->says.value("rules", json::object());
        refuse(own);
        had.did = "refuse";
        if (own.value("refuses", manual_.rules.value("refuses", "preset")) == "block")
            refused_from_.push_back(line.spot);
    }

    void apply_rules(const Line& line, Had& had) {
        const std::string kind = kind_of(had.look, had.labels);
        if (kind == "text") {
            const bool plain = std::all_of(had.now.text.begin(), had.now.text.end(), [](char c) { return c >= 0; });
            if (plain || is_by_text(had.look) || had.look.value("encoding", "ascii") != "ascii") return;
            if (rule_of("long-text", line) == "refuse") return refuse_line(line, had);
            for (char& c : had.now.text) {
                if (c < 0) c = '?';
            }
            had.did = "cut";
            return;
        }
        if (kind == "switch" || had.look.value("kind", "") == "opaque" || had.now.form == 't') return;
        if (is_nothing(had.look, had.now) || is_as_base(had.look, had.now)) return;
        if (kind == "thing") return settle_choice(line, had);
        if (had.now.form == 'r' && std::isnan(had.now.real)) had.meaningless = true;
        if (had.look.contains("range")) settle_range(line, had);
        const bool moved = had.did == "clamp" || had.did == "wrap";  // then loaded like any other number
        if ((had.did.empty() || moved) && had.look.contains("step")) settle_step(line, had);
    }

    void settle_choice(const Line& line, Had& had) {
        if (!had.thing.empty()) return;
        had.meaningless = true;
        const std::string what = rule_of("unknown-choice", line);
        Number number = had.now;
        if (what == "clamp") {
            std::int64_t best = had.labels->front().number;
            for (const Label& label : *had.labels) {
                if (std::abs(label.number - had.now.whole) < std::abs(best - had.now.whole)) best = label.number;
            }
            number.whole = best;
            put(had, number, "clamp");
        } else if (const Number given = default_of(had); what == "reset" && given.form == 'w') {
            put(had, given, "reset");
        } else if (what == "reset" || what == "first") {
            number.whole = had.labels->front().number;
            put(had, number, "reset");
        } else if (what == "refuse") {
            refuse_line(line, had);
        } else {
            had.did = "keep";
        }
    }

    void settle_range(const Line& line, Had& had) {
        const double least = had.look["range"][0];
        const double most = had.look["range"][1];
        const json own = line.entry->says.value("rules", json::object());
        const double tolerance = own.value("tolerance", manual_.rules.value("tolerance", 0.0));
        const bool whole = had.now.form == 'w';
        double low = stored_by(had.look.value("scale", json()), least);
        double high = stored_by(had.look.value("scale", json()), most);
        if (whole) low = std::round(low), high = std::round(high);
        if (low > high) std::swap(low, high);
        // A range ends at the stored numbers nearest to its ends; the tolerance only widens it.
        const double stored = had.now.plain();
        if (whole && stored >= low && stored <= high) return;
        if (had.value >= least - tolerance && had.value <= most + tolerance && (!whole || tolerance > 0)) return;
        const std::string what = rule_of("out-of-range", line);
        const bool too_low = had.value <= most && (had.value < least || had.value - least < most - had.value);
        if (what == "clamp") {
            put(had, stored_for(too_low ? least : most, had.look, nullptr), "clamp");
        } else if (what == "reset") {
            const Number given = default_of(had);
            put(had, given.form != '-' ? given : stored_for(least, had.look, nullptr), "reset");
        } else if (what == "wrap") {
            const double many = high - low + (whole ? 1 : 0);
            double round = many > 0 ? std::fmod(stored - low, many) : 0;
            if (round < 0) round += many;
            Number number = had.now;
            if (whole)
                number.whole = std::llround(low + round);
            else
                number.real = low + round;
            put(had, number, "wrap");
        } else if (what == "refuse") {
            refuse_line(line, had);
        } else {
            const json plays = had.look.value("plays", had.look["range"]);
            had.beyond = !(had.value >= plays[0].get<double>() && had.value <= plays[1].get<double>());
            if (had.beyond) had.did = "keep";
        }
    }

    void settle_step(const Line& line, Had& had) {
        const auto ends = value_ends(had.look);
        const double step = had.look["step"];
        const double least = ends ? ends->first : 0;
        if (!std::isfinite(had.value)) return;
        double many = std::round((had.value - least) / step);
        // The release can hold the steps within its range; what a tolerance or `plays` lets in is beyond them.
        if (ends && had.value <= ends->second) {
            while (least + many * step > ends->second + 1e-9 * std::max(1.0, std::abs(ends->second))) --many;
        }
        const double grid = least + many * step;
        const Number nearest = stored_for(grid, had.look, nullptr);
        if (nearest == had.now || nearly(grid, had.value)) return;
        if (rule_of("off-step", line) == "round") put(had, nearest, had.did.empty() ? "round" : had.did);
    }

    void refuse_blocks() {
        for (const std::string& from : refused_from_) {
            std::string block = from;
            for (const Spot* spot : sheet_.around(from)) {
                if (spot->entry->says.value("kind", "plain") == "block") block = spot->name;
            }
            if (block.empty()) continue;
            for (auto& [name, had] : had_) {
                for (const Spot* spot : sheet_.around(sheet_.lines.at(name).spot)) {
                    if (spot->name == block) had.did = "refuse";
                }
            }
        }
    }

    const Manual& manual_;
    const Sheet& sheet_;
    const Shelf& shelf_;
    const Body& preset_;
    const World& world_;
    const HeldBefore& held_;
    Bits body_;
    std::string beyond_ = "default";
    Runs runs_;
    std::map<std::string, Had> had_;
    std::vector<std::string> refused_from_;
};

}  // namespace

Played play(const Manual& manual, const Sheet& sheet, const Shelf& shelf, const Body& body, const World& world,
            const HeldBefore& held) {
    return Player(manual, sheet, shelf, body, world, held).play();
}

}  // namespace downfit::testing::second
