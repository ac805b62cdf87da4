#include "second/judge.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "second/curve.h"
#include "second/ear.h"
#include "second/stage.h"

namespace downfit::testing::second {
namespace {

std::string role_of(const Had& had) {
    return had.look.value("role", "");
}

bool is_model(const Had& had) {
    return role_of(had) == "model" || kind_of(had.look, had.labels) == "asset";
}

bool is_cosmetic(const Had& had) {
    return role_of(had) == "name" || role_of(had) == "cosmetic";
}

Physical amount(const Had& had) {
    return physical(had.value, had.look.value("unit", ""));
}

double span_of(const Had& had) {
    const auto ends = value_ends(had.look);
    if (!ends) return 0;
    const std::string unit = had.look.value("unit", "");
    const double span = std::abs(physical(ends->second, unit).value - physical(ends->first, unit).value);
    return std::isfinite(span) ? span : 0;
}

/// What a change of something that is no number weighs.
int weight_of_thing(const Had& had) {
    if (is_model(had)) return severe;
    return kind_of(had.look, had.labels) == "text" ? slight : audible;
}

/// One preset in one world, loaded by both.
class Preset {
public:
    Preset(const Pair& pair, const Played& saved, const Played& loading)
        : pair_(pair),
          saved_(saved),
          loading_(loading),
          saved_stage_(pair.saved, pair.saved_sheet, saved),
          loading_stage_(pair.loading, pair.loading_sheet, loading) {
        for (const auto& [name, line] : pair.loading_sheet.lines) by_key_[line.key] = name;
        for (const auto& [name, spot] : pair.saved_sheet.spots) {
            for (const auto& [other, there] : pair.loading_sheet.spots) {
                if (there.key == spot.key) both_.emplace_back(&spot, &there);
            }
        }
        for (const auto& [spot, there] : both_) {
            for (const char* key : {"on-by", "selected-by", "start-by", "controls"}) {
                named_.push_back(
                    {key, named_by(pair.saved_sheet, *spot, key), named_by(pair.loading_sheet, *there, key)});
            }
        }
    }

    Fate fate_of(const std::string& n_name, const std::string& t_name) const {
        Fate fate;
        static const Had nowhere;
        const Had& n = n_name.empty() ? nowhere : saved_.had.at(n_name);
        const Had& t = t_name.empty() ? nowhere : loading_.had.at(t_name);
        if (!n.exists && !t.exists) return fate;
        if (n.exists) fate.activity = saved_stage_.activity_of(n_name);
        if (t.exists) fate.activity = std::max(fate.activity, loading_stage_.activity_of(t_name));
        if (n.exists) fate.meant = words(n, pair_.saved_sheet, n_name);
        if (t.exists) fate.there = words(t, pair_.loading_sheet, t_name);
        if (n.exists && t.exists)
            both(n_name, n, t_name, t, fate);
        else if (n.exists)
            lost(n, fate);
        else
            added(t_name, t, fate);
        calm(n.exists ? n : t, fate);
        return fate;
    }

private:
    // What lies under what.

    /// Another existing parameter of N keeps something in bits that T reads.
    bool is_foreign(const std::string& partner, const Had& t) const {
        if (!t.read || pair_.rewritten) return false;
        const std::set<Place> bits(t.places.begin(), t.places.end());
        for (const auto& [name, other] : saved_.had) {
            if (name == partner || !other.exists || !other.read) continue;
            for (const Place& place : other.places) {
                if (bits.count(place) != 0) return true;
            }
        }
        return false;
    }

    static bool shares_bits(const Had& n, const Had& t) {
        return std::any_of(n.bits.begin(), n.bits.end(), [&](std::int64_t bit) {
            return std::find(t.bits.begin(), t.bits.end(), bit) != t.bits.end();
        });
    }

    // What is the same.

    /// The key of what a reference to a parameter points at.
    static std::string target_key(const Had& had, const Sheet& sheet, const std::string& name) {
        if (had.look.value("refers-to", "") != "parameter" || had.labels == nullptr) return {};
        for (const Label& label : *had.labels) {
            if (label.number != had.now.whole) continue;
            const std::string target = sheet.meant(label.label, sheet.lines.at(name).spot);
            return target.empty() ? std::string() : sheet.lines.at(target).key;
        }
        return {};
    }

    static std::string words(const Had& had, const Sheet& sheet, const std::string& name) {
        if (is_as_base(had.look, had.now)) return "as in the preset";
        if (is_nothing(had.look, had.now)) return "nothing";
        const std::string kind = kind_of(had.look, had.labels);
        if (had.now.form == 't') return "\"" + had.now.text + "\"";
        if (kind == "thing") {
            const std::string key = target_key(had, sheet, name);
            if (!key.empty()) return "to " + key;
            return had.thing.empty() ? "?" + std::to_string(had.now.whole) : had.thing;
        }
        return number_words(had.value);
    }

    bool is_equal(const std::string& n_name, const Had& n, const std::string& t_name, const Had& t) const {
        if (is_as_base(n.look, n.now) || is_as_base(t.look, t.now))
            return is_as_base(n.look, n.now) && is_as_base(t.look, t.now);
        const std::string left = kind_of(n.look, n.labels);
        const std::string right = kind_of(t.look, t.labels);
        const auto has_number = [](const std::string& kind) {
            return kind == "number" || kind == "switch" || kind == "asset";
        };
        if (left != right && !(has_number(left) && has_number(right))) return false;
        if (left == right && (left == "thing" || left == "asset") &&
            (is_nothing(n.look, n.now) || is_nothing(t.look, t.now)))
            return is_nothing(n.look, n.now) && is_nothing(t.look, t.now);
        if (left == "text" || (left == right && left == "asset" && (is_by_text(n.look) || is_by_text(t.look))))
            return n.now.form == t.now.form && n.now.text == t.now.text;
        if (left == "thing") {
            const std::string n_key = target_key(n, pair_.saved_sheet, n_name);
            const std::string t_key = target_key(t, pair_.loading_sheet, t_name);
            if (!n_key.empty() || !t_key.empty()) return n_key == t_key;
            if (n.thing.empty() || t.thing.empty()) return n.thing == t.thing && n.now.whole == t.now.whole;
            return n.thing == t.thing;
        }
        const Physical a = amount(n);
        const Physical b = amount(t);
        if (is_same(a, b) || (std::isnan(a.value) && std::isnan(b.value))) return true;  // neither is a number
        // Two decimal texts of one 32-bit float are the same value.
        const bool floats = n.look.value("as", "") == "float32" || t.look.value("as", "") == "float32";
        return floats && a.unit == b.unit && static_cast<float>(a.value) == static_cast<float>(b.value);
    }

    // Weights.

    int difference(bool equal, const Had& n, const Had& t, Fate& fate) const {
        if (equal) return none;
        if (is_as_base(n.look, n.now) || is_as_base(t.look, t.now))
            return std::max(weight_of_thing(n), static_cast<int>(audible));
        if (kind_of(n.look, n.labels) == "number" && kind_of(t.look, t.labels) == "number")
            return number_change(n, amount(n), amount(t), fate);
        return std::max(weight_of_thing(n), weight_of_thing(t));
    }

    static int number_change(const Had& n, const Physical& before, const Physical& after, Fate& fate) {
        const Heard heard = hear(before, after, role_of(n), span_of(n));
        // The louder caution stands over the others.
        const auto rank = [](const std::string& caution) {
            return caution == "louder" ? 3 : caution == "feedback" ? 2 : caution.empty() ? 0 : 1;
        };
        if (rank(heard.caution) > rank(fate.caution)) fate.caution = heard.caution;
        // A number beside that of a model is another model, however near.
        return is_model(n) && !is_same(before, after) ? static_cast<int>(severe) : heard.weight;
    }

    static bool is_neutral(const Had& had) {
        if (kind_of(had.look, had.labels) == "asset" && is_nothing(had.look, had.now)) return true;
        if (is_nothing(had.look, had.now)) return true;
        if (!had.look.contains("neutral")) return false;
        const json& neutral = had.look["neutral"];
        if (had.labels != nullptr && neutral.is_string()) {
            for (const Label& label : *had.labels) {
                if (label.label == neutral && label.origin == had.thing) return true;
            }
            return false;
        }
        if (neutral.is_string()) return had.now.text == neutral;
        if (neutral.is_boolean()) return (had.value != 0) == neutral.get<bool>();
        return kind_of(had.look, had.labels) == "asset" && had.value == neutral.get<double>();
    }

    static int against_neutral(const Had& had, bool arrives, Fate& fate) {
        if (is_as_base(had.look, had.now) || is_neutral(had)) return none;
        if (kind_of(had.look, had.labels) != "number") return weight_of_thing(had);
        if (!had.look.contains("neutral")) return is_model(had) ? severe : audible;
        const Physical neutral = physical(had.look["neutral"].get<double>(), had.look.value("unit", ""));
        return arrives ? number_change(had, neutral, amount(had), fate)
                       : number_change(had, amount(had), neutral, fate);
    }

    // Outcomes.

    void both(const std::string& n_name, const Had& n, const std::string& t_name, const Had& t, Fate& fate) const {
        const bool equal = is_equal(n_name, n, t_name, t);
        const bool on_nothing = !pair_.rewritten && t.read && !equal && !shares_bits(n, t);
        if (is_foreign(n_name, t) || on_nothing) {
            fate.outcome = "displaced";
            fate.worst = difference(equal, n, t, fate);
        } else if (n.did == "held" || t.did == "held" || (n.meaningless && !(equal && t.meaningless))) {
            return unsure(n, t, fate);
        } else if (n.did == "refuse") {
            if (t.did != "refuse") unsure(n, t, fate);
            return;
        } else if (t.did == "refuse") {
            fate.outcome = "lost";
            fate.worst = against_neutral(n, false, fate);
        } else if (!equal || (t.did == "keep" && n.did != "keep")) {
            fate.outcome = outcome_of(t_name, n, t);
            fate.worst = difference(equal, n, t, fate);
            if (fate.outcome == "out-of-range")
                fate.worst = std::max(fate.worst, is_model(n) ? static_cast<int>(severe) : static_cast<int>(audible));
            sweep(n_name, n, t_name, t, fate);
        } else if (is_unfilled(t)) {
            fate.outcome = "unfilled";
            fate.worst = severe;
        } else {
            revoice(n_name, n, fate);
            sweep(n_name, n, t_name, t, fate);
            if (fate.outcome == "kept") use(n_name, n, t_name, t, fate);
        }
        fate.best = fate.worst;
    }

    /// The same thing, which the maker changed on the way.
    void revoice(const std::string& n_name, const Had& n, Fate& fate) const {
        bool any = false;
        bool said = true;
        double rise = 0;
        for (const Revoicing& one : pair_.revoiced) {
            if (n.thing.empty() || one.thing != n.thing) continue;
            if (one.parameter != pair_.saved_sheet.lines.at(n_name).entry->origin) continue;
            any = true;
            said = said && one.rise.has_value();
            rise += one.rise.value_or(0);
            fate.worst = std::max(fate.worst, one.weight);
        }
        if (!any) return;
        fate.outcome = "revoiced";
        if (!said) fate.caution = "level unknown";
        if (!said || rise < 6) return;
        fate.caution = "louder";
        fate.worst = severe;
    }

    // The same value, used otherwise.

    /// The line of T that means the same as this one of N; empty for none.
    std::string partner_of(const std::string& n_name) const {
        if (n_name.empty()) return {};
        const auto found = by_key_.find(pair_.saved_sheet.lines.at(n_name).key);
        return found == by_key_.end() ? std::string() : found->second;
    }

    static std::string named_by(const Sheet& sheet, const Spot& spot, const char* key) {
        const json& says = spot.entry->says;
        return says.contains(key) ? sheet.meant(says[key], spot.name) : std::string();
    }

    /// Whether one release lets the line do something for a group that the other does not.
    bool differs_for(const std::set<std::string>& keys, const std::string& n_name, const std::string& t_name) const {
        return std::any_of(named_.begin(), named_.end(), [&](const Named& one) {
            return keys.count(one.key) != 0 && (one.saved == n_name) != (one.loading == t_name);
        });
    }

    static std::string overridden_by(const Sheet& sheet, const std::string& name) {
        const Line& line = sheet.lines.at(name);
        const json& says = line.entry->says;
        return says.contains("overrides") ? sheet.meant(says["overrides"], line.spot) : std::string();
    }

    void use(const std::string& n_name, const Had& n, const std::string& t_name, const Had& t, Fate& fate) const {
        bool woken = false;
        bool silenced = false;
        if (differs_for({"on-by", "selected-by", "start-by"}, n_name, t_name)) {
            for (const auto& [spot, there] : both_) {
                const std::string kind = spot->entry->says.value("kind", "plain");
                if (kind != "block" && kind != "alternate") continue;
                const bool before = saved_stage_.activity_of_spot(spot->name) == sounding;
                const bool after = loading_stage_.activity_of_spot(there->name) == sounding;
                woken = woken || (!before && after);
                silenced = silenced || (before && !after);
            }
        }
        const std::string before = overridden_by(pair_.saved_sheet, n_name);
        const std::string after = overridden_by(pair_.loading_sheet, t_name);
        const bool other_target =
            differs_for({"controls"}, n_name, t_name) || before.empty() != after.empty() || partner_of(before) != after;
        const bool says_something = !(is_nothing(n.look, n.now) && is_nothing(t.look, t.now)) &&
                                    !(is_as_base(n.look, n.now) && is_as_base(t.look, t.now));
        if (!woken && !silenced && !(other_target && says_something)) return;
        fate.outcome = woken ? "woken" : "swapped";
        fate.worst = std::max(fate.worst, static_cast<int>(audible));
    }

    std::string outcome_of(const std::string& t_name, const Had& n, const Had& t) const {
        if (t.did == "clamp") return "clamped";
        if (t.did == "reset" || t.did == "default") return "reset";
        if (t.did == "keep") return "out-of-range";
        if (t.did == "wrap") return "rescaled";
        if (t.did == "round") return "rounded";
        if (t.did == "cut") return "cut";
        const std::string left = kind_of(n.look, n.labels);
        const std::string right = kind_of(t.look, t.labels);
        if (left == "text" && right == "text") return "cut";
        if (left == "switch" && right == "switch") {
            for (const auto& [name, spot] : pair_.loading_sheet.spots) {
                if (spot.entry->says.value("kind", "") != "block") continue;
                if (pair_.loading_sheet.meant(spot.entry->says.value("on-by", ""), name) == t_name)
                    return t.value != 0 ? "woken" : "swapped";
            }
        }
        const bool base = is_as_base(n.look, n.now) || is_as_base(t.look, t.now);
        return left == "number" && right == "number" && !base ? "rescaled" : "swapped";
    }

    bool is_unfilled(const Had& t) const {
        if (kind_of(t.look, t.labels) != "asset" || is_nothing(t.look, t.now) || is_by_text(t.look)) return false;
        const json asset = pair_.loading.assets.value(t.look["refers-to"].get<std::string>(), json::object());
        const int first = asset.value("first", 1);
        const int count = asset.value("count", 0);
        const auto slot = std::lround(t.value);
        return count > 0 && (slot < first || slot >= first + count);
    }

    void sweep(const std::string& n_name, const Had& n, const std::string& t_name, const Had& t, Fate& fate) const {
        if (kind_of(n.look, n.labels) != "number" || kind_of(t.look, t.labels) != "number") return;
        const auto before = saved_stage_.sweeps_of(n_name);
        const auto after = loading_stage_.sweeps_of(t_name);
        for (std::size_t i = 0; i < std::min(before.size(), after.size()); ++i) {
            for (const bool toe : {false, true}) {
                const Physical meant = at_share(n, toe ? before[i].toe : before[i].heel);
                const Physical there = at_share(t, toe ? after[i].toe : after[i].heel);
                if (is_same(meant, there)) continue;
                if (fate.outcome == "kept") fate.outcome = "rescaled";
                fate.worst = std::max(fate.worst, number_change(n, meant, there, fate));
            }
        }
    }

    static Physical at_share(const Had& had, double share) {
        const json scale = had.look.value("scale", json());
        auto [low, high] = stored_ends(had.look);
        if (had.look.contains("range")) {
            low = stored_by(scale, had.look["range"][0]);
            high = stored_by(scale, had.look["range"][1]);
            if (had.now.form == 'w') low = std::round(low), high = std::round(high);
            if (low > high) std::swap(low, high);
        }
        double stored = low + std::min(1.0, std::max(0.0, share)) * (high - low);
        if (had.now.form == 'w') stored = std::floor(stored + 0.5);
        return physical(value_by(scale, stored), had.look.value("unit", ""));
    }

    static void unsure(const Had& n, const Had& t, Fate& fate) {
        fate.outcome = "unsure";
        const bool numbers = kind_of(n.look, n.labels) == "number" && kind_of(t.look, t.labels) == "number";
        if (!numbers || (n.did != "held" && t.did != "held")) {
            fate.worst = weight_of_thing(n);
            return;
        }
        for (const Physical& before : may_be(n)) {
            for (const Physical& after : may_be(t))
                fate.worst = std::max(fate.worst, number_change(n, before, after, fate));
        }
    }

    /// What a number is, or the ends of what the unit may have held.
    static std::vector<Physical> may_be(const Had& had) {
        if (had.did != "held") return {amount(had)};
        const auto ends = value_ends(had.look).value_or(std::pair{0.0, 0.0});
        const std::string unit = had.look.value("unit", "");
        return {physical(ends.first, unit), physical(ends.second, unit)};
    }

    static void lost(const Had& n, Fate& fate) {
        fate.outcome = "lost";
        fate.best = fate.worst = against_neutral(n, false, fate);
    }

    void added(const std::string& t_name, const Had& t, Fate& fate) const {
        (void)t_name;
        fate.outcome = is_foreign("", t) ? "displaced" : "added";
        fate.worst = against_neutral(t, true, fate);
        if (t.did == "held") {
            fate.outcome = "unsure";
            fate.worst = is_model(t) ? severe : audible;
            return;
        }
        if (t.did == "keep") fate.worst = std::max(fate.worst, static_cast<int>(audible));
        fate.best = fate.worst;
    }

    /// What is not heard, or not much, weighs less.
    static void calm(const Had& side, Fate& fate) {
        int most = severe;
        const bool unheard = is_cosmetic(side) || fate.outcome == "cut";
        if (unheard || fate.activity == standby) most = slight;
        if (fate.activity == dormant) most = none;
        if (unheard || fate.activity == dormant) fate.caution.clear();
        const bool differs = fate.worst != none;
        const std::string& what = fate.outcome;
        const bool unknown = (what == "swapped" && differs) || what == "out-of-range" ||
                             (is_model(side) && differs &&
                              (what == "reset" || what == "clamped" || what == "displaced" || what == "unsure"));
        if (unknown && !unheard && fate.activity != dormant && fate.caution.empty()) fate.caution = "level unknown";
        fate.worst = std::min(fate.worst, most);
        fate.best = std::min(fate.best, most);
    }

    const Pair& pair_;
    const Played& saved_;
    const Played& loading_;
    /// Lines that a spot of both releases names.
    struct Named {
        std::string key, saved, loading;
    };

    Stage saved_stage_, loading_stage_;
    std::vector<Named> named_;
    std::map<std::string, std::string> by_key_;              // lines of T
    std::vector<std::pair<const Spot*, const Spot*>> both_;  // spots that both releases have, N's and T's
};

std::vector<std::pair<std::string, std::string>> partners(const Pair& pair) {
    std::vector<std::pair<std::string, std::string>> partners;
    std::set<std::string> taken;
    std::map<std::string, std::string> by_key;
    for (const auto& [other, there] : pair.loading_sheet.lines) by_key[there.key] = other;
    for (const auto& [name, line] : pair.saved_sheet.lines) {
        const auto found = by_key.find(line.key);
        const std::string partner = found == by_key.end() ? std::string() : found->second;
        taken.insert(partner);
        partners.emplace_back(name, partner);
    }
    for (const auto& [other, there] : pair.loading_sheet.lines) {
        if (taken.count(other) == 0) partners.emplace_back("", other);
    }
    return partners;
}

}  // namespace

std::string number_words(double value) {
    char text[40];
    if (value == 0) value = 0;
    std::snprintf(text, sizeof text, "%.9g", value);
    return text;
}

std::map<std::string, Fate> fates_of(const Pair& pair, const Played& saved, const Played& loading) {
    const Preset world(pair, saved, loading);
    std::map<std::string, Fate> fates;
    for (const auto& [n_name, t_name] : partners(pair)) fates[n_name + "|" + t_name] = world.fate_of(n_name, t_name);
    return fates;
}

}  // namespace downfit::testing::second
