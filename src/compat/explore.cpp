#include "compat/explore.h"

#include <algorithm>
#include <cmath>

#include "dump/value_text.h"

#include "base/limits.h"

namespace downfit::compat {
namespace {

void collect_settings(const BoundCondition& condition, const std::string& fact, std::vector<std::string>& settings) {
    for (const BoundCondition& part : condition.parts) collect_settings(part, fact, settings);
    if (condition.fact != fact) return;
    for (const schema::Setting& setting : condition.settings) {
        const auto* text = std::get_if<std::string>(&setting);
        if (text != nullptr && std::find(settings.begin(), settings.end(), *text) == settings.end())
            settings.push_back(*text);
    }
}

/// Everything that a fact may be: what conditions ask for, and something else. A condition on a unit parameter holds or
/// not.
std::vector<std::string> settings_of_fact(const ReleasePair& pair, const std::string& fact) {
    if (fact.starts_with("unit ")) return {"yes", "no"};
    std::vector<std::string> settings;
    for (const CompiledRelease* release : {&pair.saved(), &pair.loading()}) {
        for (const BoundCondition& condition : release->conditions()) collect_settings(condition, fact, settings);
    }
    settings.emplace_back();
    return settings;
}

/// What is assumed of either release; the facts are the same in both.
struct Guess {
    Assumptions saved, loading;
};

/// Tries all possibilities of the first rule asked: on the saving release, on the loading one, or on both alike where
/// they are one.
void branch_on_rules(const Guess& from, const AskedRules& asked, bool on_saved, bool on_loading,
                     std::vector<Guess>& open) {
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (!asked.test(rule)) continue;
        const schema::RuleRow& row = schema::rule_table[rule];
        for (std::size_t i = row.action_count; i > 0; --i) {
            Guess next = from;
            if (on_saved) next.saved.actions[rule] = row.actions[i - 1];
            if (on_loading) next.loading.actions[rule] = row.actions[i - 1];
            open.push_back(std::move(next));
        }
        return;
    }
}

void open_with_facts(const Guess& from, const std::map<std::string, std::string>& facts, std::vector<Guess>& open) {
    Guess next = from;
    next.saved.facts = next.loading.facts = facts;
    open.push_back(std::move(next));
}

void branch_on_fact(const Guess& from, const std::string& fact, const ReleasePair& pair, const schema::Release& release,
                    std::vector<Guess>& open) {
    if (fact == "variant" ||
        std::any_of(release.variants.begin(), release.variants.end(),
                    [&](const schema::Variant& variant) { return variant.facts.contains(fact); })) {
        for (const schema::Variant& variant : release.variants) {
            std::map<std::string, std::string> facts = from.loading.facts;
            facts["variant"] = variant.name;
            for (const auto& [name, setting] : variant.facts) facts.try_emplace(name, setting);
            facts.try_emplace(fact);
            open_with_facts(from, facts, open);
        }
        if (!release.variants.empty()) return;
    }
    for (const std::string& setting : settings_of_fact(pair, fact)) {
        std::map<std::string, std::string> facts = from.loading.facts;
        facts[fact] = setting;
        open_with_facts(from, facts, open);
    }
}

constexpr double longest_range = 31;

/// Stored numbers that a condition compares a field with, and their neighbours.
template <class Add>
void add_asked(const BoundCondition& condition, int field, const BoundMeaning& meaning, const Add& add) {
    for (const BoundCondition& part : condition.parts) add_asked(part, field, meaning, add);
    if (condition.field != field) return;
    for (const schema::Setting& setting : condition.settings) {
        const auto* number = std::get_if<double>(&setting);
        const double raw = number != nullptr ? meaning.meaning->scale.stored_of(*number) : std::nan("");
        if (!(raw >= meaning.stored_low && raw <= meaning.stored_high)) continue;
        for (const double near : {raw - 1, raw, raw + 1}) {
            if (near >= meaning.stored_low && near <= meaning.stored_high) add(std::llround(near));
        }
    }
}

/// What a unit may have held in a field: all that its range or its choices allow. Of a range too long to try, its ends
/// and what conditions ask for.
std::vector<dump::Stored> possible_values(const CompiledRelease& release, int field, const Loaded& loaded) {
    const BoundField& bound = release.fields()[static_cast<std::size_t>(field)];
    const BoundMeaning& meaning = *loaded.meaning;
    std::vector<dump::Stored> values;
    const auto add = [&](std::int64_t number) {
        dump::Stored stored;
        stored.kind = dump::Stored::Kind::whole;
        stored.whole = number;
        if (std::find(values.begin(), values.end(), stored) == values.end()) values.push_back(stored);
    };
    if (loaded.stored.kind != dump::Stored::Kind::whole) return values;
    if (bound.parameter->kind == schema::Kind::on_off) {
        add(bound.parameter->on == 0 ? 1 : 0);
        add(bound.parameter->on);
    } else if (names_things(*bound.parameter, *meaning.meaning)) {
        for (const schema::Choice& choice : meaning.meaning->choices->choices) add(choice.number);
    } else if (meaning.stored_high - meaning.stored_low <= longest_range) {
        for (double number = meaning.stored_low; number <= meaning.stored_high; ++number) add(std::llround(number));
    } else {
        add(std::llround(meaning.stored_low));
        for (const BoundCondition& condition : release.conditions()) add_asked(condition, field, meaning, add);
        add(std::llround(meaning.stored_high));
    }
    return values;
}

/// A side of the pair, and what is assumed of the unit that loaded it.
struct HeldSide {
    const CompiledRelease& release;
    const LoadedPreset& preset;
    HeldValues Assumptions::*held;

    [[nodiscard]] const BoundField& field(int index) const { return release.fields()[static_cast<std::size_t>(index)]; }
    [[nodiscard]] const Loaded& loaded(int index) const { return preset.fields[static_cast<std::size_t>(index)]; }
    [[nodiscard]] std::vector<dump::Stored> values(int index) const {
        return possible_values(release, index, loaded(index));
    }
};

/// Fields that the unit left as they were, on which others hang, to be tried next: all switches that only turn blocks
/// on, which are tried together; without any, the one other field that is loaded first: what the rest may have held can
/// hang on it.
std::vector<int> fields_to_try(const HeldSide& side) {
    std::vector<int> switches, others;
    for (const int i : side.release.order()) {
        if (!side.loaded(i).exists || !side.loaded(i).unknown()) continue;
        const BoundField& field = side.field(i);
        if (field.bearing == Bearing::nothing || side.values(i).empty()) continue;
        const bool plain_switch = field.bearing == Bearing::on_off && field.parameter->kind == schema::Kind::on_off;
        (plain_switch ? switches : others).push_back(i);
    }
    if (!switches.empty()) return switches;
    if (!others.empty()) others.resize(1);
    return others;
}

/// Branches on what the unit held before, on either side of the pair. False where nothing hangs on it.
bool branch_on_held(const Guess& from, const HeldSide& side, std::vector<Guess>& open) {
    if (!side.preset.any_unknown || side.preset.refused) return false;
    const std::vector<int> fields = fields_to_try(side);
    if (fields.empty()) return false;
    const std::string what =
        fields.size() == 1 ? side.field(fields.front()).field->id : std::to_string(fields.size()) + " switches";
    const std::size_t count = side.values(fields.front()).size();
    for (std::size_t i = 0; i < count; ++i) {
        Guess guess = from;
        Assumptions& next = guess.loading;  // it carries what was held on both sides
        for (const int field : fields) (next.*side.held)[field] = side.values(field)[i];
        const BoundField& first = side.field(fields.front());
        const std::string value =
            dump::value_text(side.release.release(), *first.parameter, *side.loaded(fields.front()).meaning->meaning,
                             (next.*side.held)[fields.front()]);
        std::string held = side.release.release().name;
        held.append(" held ").append(what).append(" at ").append(value);
        next.held.push_back(std::move(held));
        open.push_back(std::move(guess));
    }
    return true;
}

/// What a release is predicted to have counts as it is: how it came about is no doubt about the dump.
void settle_prediction(LoadedPreset& preset) {
    for (Loaded& loaded : preset.fields) {
        if (loaded.act == Act::held || loaded.act == Act::refused) continue;
        loaded.act = Act::nothing;
        loaded.known = true;
    }
}

/// What is loaded on either side, and heard by whom.
struct Question {
    const Image& saved;
    const Image& loading;
    Bodies bodies;
    const std::map<std::string, std::string>& facts;
    const Hearing& hearing;
    const KnownAssets& assets;
};

void judge_run(const ReleasePair& pair, const Question& question, Run& run) {
    if (run.saved.refused || run.loading.refused) return;
    if (question.bodies == Bodies::prediction) settle_prediction(run.saved);
    const Judge judge(pair, run.saved, run.loading, question.hearing, question.assets,
                      variant_among(run.assumptions.facts), question.bodies);
    run.judgements.reserve(pair.links().size());
    for (const Link& link : pair.links()) run.judgements.push_back(judge.judge(link));
    run.lost_protection = judge.lost_protection();
    run.limited = judge.limited_groups();
    run.cost = judge.cost();
}

Exploration explore_all(const ReleasePair& pair, const Question& question) {
    Exploration exploration;
    const bool one_release = pair.saved().release().order == pair.loading().release().order;
    std::vector<Guess> open(1);
    open.front().saved.facts = open.front().loading.facts = question.facts;
    while (!open.empty()) {
        if (exploration.runs.size() >= limits::most_runs) {
            exploration.complete = false;
            break;
        }
        Run run;
        const Guess guess = std::move(open.back());
        open.pop_back();
        run.assumptions = guess.loading;
        run.saved_assumptions = guess.saved;
        run.saved = load(pair.saved(), question.saved, run.saved_assumptions, run.assumptions.held_saved);
        run.loading = load(pair.loading(), question.loading, run.assumptions, run.assumptions.held_loading);
        const AskedRules asked = run.saved.asked | run.loading.asked;
        exploration.asked |= asked;
        std::vector<std::string> asked_facts = run.saved.asked_facts;
        const auto& variants = pair.loading().release().variants;
        // What somebody else loaded beside a dump is no matter of limits.
        const bool limits = question.bodies == Bodies::one &&
                            std::any_of(variants.begin(), variants.end(), [](const schema::Variant& variant) {
                                return !variant.limits.empty() || variant.budget || !variant.oldest_release.empty();
                            });
        if (limits && !run.assumptions.facts.contains("variant")) asked_facts.emplace_back("variant");
        asked_facts.insert(asked_facts.end(), run.loading.asked_facts.begin(), run.loading.asked_facts.end());
        if (run.saved.asked.any()) {
            branch_on_rules(guess, run.saved.asked, true, one_release, open);
        } else if (run.loading.asked.any()) {
            branch_on_rules(guess, run.loading.asked, one_release, true, open);
        } else if (!asked_facts.empty()) {
            branch_on_fact(guess, asked_facts.front(), pair, pair.loading().release(), open);
        } else if (!branch_on_held(guess, {pair.saved(), run.saved, &Assumptions::held_saved}, open) &&
                   !branch_on_held(guess, {pair.loading(), run.loading, &Assumptions::held_loading}, open)) {
            judge_run(pair, question, run);
            exploration.runs.push_back(std::move(run));
        }
    }
    return exploration;
}

}  // namespace

Weight Run::best() const {
    Weight weight = Weight::none;
    for (const Judgement& judgement : judgements) weight = std::max(weight, judgement.best);
    return weight;
}

Weight Run::worst() const {
    Weight weight = Weight::none;
    for (const Judgement& judgement : judgements) weight = std::max(weight, judgement.worst);
    return weight;
}

Exploration explore(const ReleasePair& pair, const Image& image, const std::map<std::string, std::string>& facts,
                    const Hearing& hearing, const KnownAssets& assets) {
    return explore_all(pair, {image, image, Bodies::one, facts, hearing, assets});
}

Exploration explore(const ReleasePair& pair, const Image& saved, const Image& loading, Bodies bodies,
                    const std::map<std::string, std::string>& facts, const Hearing& hearing) {
    const KnownAssets none;
    return explore_all(pair, {saved, loading, bodies, facts, hearing, none});
}

Exploration explore(const ReleasePair& pair, const Image& saved, const Image& loading,
                    const std::map<std::string, std::string>& facts, const Hearing& hearing,
                    const KnownAssets& assets) {
    return explore_all(pair, {saved, loading, Bodies::one, facts, hearing, assets});
}

namespace {

std::string actions_text(const Assumptions& assumptions) {
    std::string text;
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (!assumptions.actions[rule]) continue;
        if (!text.empty()) text += ", ";
        text += schema::rule_table[rule].name;
        text += ": ";
        text += schema::action_name(*assumptions.actions[rule]);
    }
    for (const std::string& held : assumptions.held) text += (text.empty() ? "" : ", ") + held;
    return text;
}

}  // namespace

std::map<std::map<std::string, std::string>, Exploration> split_by_facts(Exploration exploration) {
    std::map<std::map<std::string, std::string>, Exploration> by_facts;
    for (Run& run : exploration.runs) {
        Exploration& part = by_facts[run.assumptions.facts];
        part.asked = exploration.asked;
        part.complete = exploration.complete;
        part.runs.push_back(std::move(run));
    }
    return by_facts;
}

std::string assumption_text(const Run& run, const ReleasePair& pair) {
    const std::string saved =
        &pair.saved().release() == &pair.loading().release() ? std::string() : actions_text(run.saved_assumptions);
    std::string loading = actions_text(run.assumptions);
    if (saved.empty()) return loading;
    return pair.saved().release().name + " with " + saved + (loading.empty() ? "" : "; " + loading);
}

}  // namespace downfit::compat
