#include "compat/contradiction.h"

#include <algorithm>
#include <utility>

#include "compat/show.h"
#include "compat/side.h"

namespace downfit::compat {
namespace {

using schema::Action;
using schema::Rule;
using schema::RuleRow;

constexpr std::size_t most_examples = 8;

/// What becomes of the preset under one possibility of one rule.
struct Trial {
    Action action = Action::clamp;
    LoadedPreset preset;
};

struct Trials {
    Rule rule = Rule::out_of_range;
    std::vector<Trial> trials;
};

std::vector<Trials> try_all(const CompiledRelease& release, const Image& sent, const Assumptions& base) {
    std::vector<Trials> all;
    for (const RuleRow& row : schema::rule_table) {
        Trials trials{row.rule, {}};
        for (std::size_t i = 0; i < row.action_count; ++i) {
            Assumptions assumptions = base;
            assumptions.instead[static_cast<std::size_t>(row.rule)] = row.actions[i];
            trials.trials.push_back({row.actions[i], load(release, sent, assumptions, base.held_loading)});
        }
        all.push_back(std::move(trials));
    }
    return all;
}

Side side_of_field(const CompiledRelease& release, const LoadedPreset& preset, std::size_t field) {
    return {&release, &release.fields()[field], &preset.fields[field]};
}

/// Whether a rule's possibilities end differently here, apart from what comes of another parameter.
bool bears(const Trials& trials, std::size_t field) {
    const Loaded* first = nullptr;
    bool differ = false;
    for (const Trial& trial : trials.trials) {
        if (trial.preset.refused) continue;  // that it was loaded says so already
        const Loaded& loaded = trial.preset.fields[field];
        if (!loaded.exists) return false;
        if (first == nullptr) {
            first = &loaded;
            continue;
        }
        if (loaded.meaning != first->meaning) return false;  // each place to read has its own
        // A refusal alone may be that of another parameter, which takes its block.
        const bool same_end = loaded.stored == first->stored && (loaded.act == Act::held) == (first->act == Act::held);
        differ = differ || !same_end;
    }
    return differ;
}

const schema::RulePlace* find_place(const std::vector<schema::RulePlace>& places, Rule rule) {
    const auto at = std::find_if(places.begin(), places.end(), [&](const auto& place) { return place.rule == rule; });
    return at == places.end() ? nullptr : &*at;
}

/// What the schema says of the rule, for a field or (nullptr) for whole presets.
RuleSeen stated_of(const CompiledRelease& release, const BoundField* field, Rule rule) {
    RuleSeen seen;
    seen.rule = rule;
    seen.stated = field != nullptr ? field->rules[rule] : release.release().rules[rule];
    const schema::RulePlace* own = field != nullptr ? find_place(field->parameter->rule_places, rule) : nullptr;
    const schema::RulePlace* place = own != nullptr ? own : find_place(release.release().rule_places, rule);
    seen.of_parameter = own != nullptr;
    if (place != nullptr) seen.place = place->place;
    return seen;
}

/// Looks at one preset of which the unit shows something.
class Witness {
public:
    Witness(const CompiledRelease& sent_release, const Image& sent, const CompiledRelease& shown_release,
            const Image& shown, const Assumptions& base)
        : release_(sent_release),
          shown_release_(shown_release),
          predicted_(load(sent_release, sent, base, base.held_loading)),
          shown_(load(shown_release, shown, base)),
          trials_(try_all(sent_release, sent, base)) {}

    LoadingEvidence look() {
        LoadingEvidence evidence;
        if (predicted_.refused) {
            evidence.push_back(refused());
            return evidence;
        }
        std::vector<ValueSeen> values;
        for (std::size_t i = 0; i < release_.fields().size(); ++i) values.push_back(look_at(i));
        note_following(values);
        for (ValueSeen& value : values) {
            if (!value.as_predicted || !value.rules.empty()) evidence.push_back(std::move(value));
        }
        return evidence;
    }

private:
    [[nodiscard]] std::optional<std::size_t> partner(std::size_t field) const {
        return shown_release_.instances().find_key(release_.fields()[field].field->key);
    }

    /// Whether a prediction of the field and what the unit shows are the same.
    [[nodiscard]] bool agrees(const LoadedPreset& predicted, std::size_t field, std::size_t shown) const {
        if (predicted.refused) return false;
        const Side n = side_of_field(release_, predicted, field);
        const Side t = side_of_field(shown_release_, shown_, shown);
        if (!n.exists() || !t.exists()) return n.exists() == t.exists();
        // What stands there then, nobody says: anything agrees.
        if (n.loaded->act == Act::held || n.loaded->act == Act::refused) return true;
        return same(n, t);
    }

    ValueSeen look_at(std::size_t field) {
        const BoundField& bound = release_.fields()[field];
        ValueSeen value;
        value.parameter = bound.field->id;
        value.id = bound.parameter->id;
        value.place = bound.parameter->place;
        const auto shown = partner(field);
        if (!shown || bound.parameter->scope == schema::Scope::unit) return value;
        const Side n = side_of_field(release_, predicted_, field);
        const Side t = side_of_field(shown_release_, shown_, *shown);
        if (is_nowhere(n) || is_nowhere(t)) return value;
        value.as_predicted = agrees(predicted_, field, *shown);
        value.act = n.loaded->act;
        value.predicted = n.exists() ? show_loaded(n).value : "nothing";
        value.shown = t.exists() ? show_loaded(t).value : "nothing";
        if (!n.exists() || !t.exists()) return value;
        for (const Trials& trials : trials_) {
            if (!bears(trials, field)) continue;
            RuleSeen seen = stated_of(release_, &bound, trials.rule);
            for (const Trial& trial : trials.trials) {
                // What is stated leads to the prediction: that trial has it stated for all parameters.
                const bool fits =
                    seen.stated == trial.action ? value.as_predicted : agrees(trial.preset, field, *shown);
                if (fits) seen.fits.push_back(trial.action);
            }
            value.rules.push_back(std::move(seen));
        }
        return value;
    }

    /// Predicted to be refused, and there it is.
    ValueSeen refused() {
        ValueSeen value;
        value.predicted = "refused: " + predicted_.refusal;
        value.shown = "loaded";
        value.as_predicted = false;
        value.act = Act::refused;
        const BoundField* const field = refusing_field();
        if (field != nullptr) value.id = field->parameter->id;
        for (const Trials& trials : trials_) {
            RuleSeen seen = stated_of(release_, field, trials.rule);
            for (const Trial& trial : trials.trials) {
                if (!trial.preset.refused) seen.fits.push_back(trial.action);
            }
            if (!seen.fits.empty() && seen.fits.size() < trials.trials.size()) value.rules.push_back(std::move(seen));
        }
        return value;
    }

    /// The field for whose number the preset was refused (its refusal ends in that name), or nullptr.
    [[nodiscard]] const BoundField* refusing_field() const {
        for (const BoundField& field : release_.fields()) {
            if (predicted_.refusal.ends_with(" stored number of " + field.field->id)) return &field;
        }
        return nullptr;
    }

    /// Marks the fields that hang on another that is otherwise than predicted.
    void note_following(std::vector<ValueSeen>& values) const {
        for (const int field : release_.order()) {  // what it asks comes before it
            const auto at = static_cast<std::size_t>(field);
            const auto& asked = release_.fields()[at].depends_on;
            values[at].follows = std::any_of(asked.begin(), asked.end(), [&](int other) {
                const ValueSeen& before = values[static_cast<std::size_t>(other)];
                return !before.as_predicted || before.follows;
            });
        }
    }

    const CompiledRelease& release_;
    const CompiledRelease& shown_release_;
    LoadedPreset predicted_, shown_;
    std::vector<Trials> trials_;
};

/// What is in both.
std::vector<Action> common(const std::vector<Action>& a, const std::vector<Action>& b) {
    std::vector<Action> both;
    std::copy_if(a.begin(), a.end(), std::back_inserter(both),
                 [&](Action action) { return std::find(b.begin(), b.end(), action) != b.end(); });
    return both;
}

bool holds_action(const std::vector<Action>& actions, Action action) {
    return std::find(actions.begin(), actions.end(), action) != actions.end();
}

/// A value that says something about a rule: of a stated one that it is otherwise, of others what it is.
bool speaks(const RuleSeen& seen) {
    if (seen.stated) return seen.contradicts();
    return !seen.fits.empty() && seen.fits.size() < schema::row_of(seen.rule).action_count;
}

RuleFault fault_of(const std::vector<const std::pair<SeenIn, RuleSeen>*>& values) {
    const RuleSeen& first = values.front()->second;
    RuleFault fault;
    fault.rule = first.rule;
    fault.stated = first.stated;
    fault.place = first.place;
    fault.fits = first.fits;
    std::set<std::string> parameters;
    for (const auto* one : values) {
        fault.fits = common(fault.fits, one->second.fits);
        if (!one->first.value.id.empty()) parameters.insert(one->first.value.id);
        fault.presets.insert(one->first.preset);
        if (fault.examples.size() < most_examples) fault.examples.push_back(one->first);
        if (one->second.of_parameter) fault.own_parameter = one->first.value.id;
    }
    fault.values = values.size();
    fault.parameters.assign(parameters.begin(), parameters.end());
    return fault;
}

}  // namespace

bool RuleSeen::contradicts() const {
    return stated && !fits.empty() && !holds_action(fits, *stated);
}

LoadingEvidence evidence_of(const CompiledRelease& sent_release, const Image& sent,
                            const CompiledRelease& shown_release, const Image& shown, const Assumptions& base) {
    return Witness(sent_release, sent, shown_release, shown, base).look();
}

LoadingEvidence evidence_of_refusal(const CompiledRelease& release, const Image& sent, const Assumptions& base) {
    if (load(release, sent, base, base.held_loading).refused) return {};
    ValueSeen value;
    value.predicted = "loaded";
    value.shown = "nothing in that slot";
    value.as_predicted = false;
    for (const Trials& trials : try_all(release, sent, base)) {
        RuleSeen seen = stated_of(release, nullptr, trials.rule);
        for (const Trial& trial : trials.trials) {
            if (trial.preset.refused) seen.fits.push_back(trial.action);
        }
        if (!seen.fits.empty()) value.rules.push_back(std::move(seen));
    }
    return {value};
}

void Evidence::add(std::size_t preset, const LoadingEvidence& values) {
    for (const ValueSeen& value : values) {
        if (value.follows) continue;
        bool explained = false;
        for (const RuleSeen& rule : value.rules) {
            explained = explained || speaks(rule);
            seen_[{rule.rule, rule.place.file, rule.place.line, rule.place.column}].push_back({{preset, value}, rule});
        }
        if (value.as_predicted || explained) continue;
        ValueFault& fault = faults_[value.id];
        if (fault.values == 0) {
            fault.parameter = value.id;
            fault.place = value.place;
            fault.act = value.act;
        }
        ++fault.values;
        fault.presets.insert(preset);
        if (fault.examples.size() < most_examples) fault.examples.push_back({preset, value});
    }
}

std::vector<RuleFault> Evidence::rule_faults() const {
    std::vector<RuleFault> faults;
    for (const auto& [statement, values] : seen_) {
        std::vector<const std::pair<SeenIn, RuleSeen>*> speaking;
        std::map<std::string, std::vector<const std::pair<SeenIn, RuleSeen>*>> by_parameter;
        for (const auto& value : values) {
            if (!speaks(value.second)) continue;
            speaking.push_back(&value);
            by_parameter[value.first.value.id].push_back(&value);
        }
        if (speaking.empty()) continue;
        const std::size_t before = faults.size();
        RuleFault all = fault_of(speaking);
        if (!all.fits.empty()) {
            faults.push_back(std::move(all));
        } else {
            for (const auto& [parameter, own] : by_parameter) faults.push_back(fault_of(own));
        }
        for (std::size_t i = before; i < faults.size(); ++i) {
            RuleFault& fault = faults[i];
            fault.confirmed =
                static_cast<std::size_t>(std::count_if(values.begin(), values.end(), [&](const auto& value) {
                    const RuleSeen& seen = value.second;
                    return seen.stated && holds_action(seen.fits, *seen.stated) &&
                           common(seen.fits, fault.fits).empty();
                }));
        }
    }
    return faults;
}

std::vector<ValueFault> Evidence::value_faults() const {
    std::vector<ValueFault> faults;
    for (const auto& [parameter, fault] : faults_) faults.push_back(fault);
    return faults;
}

}  // namespace downfit::compat
