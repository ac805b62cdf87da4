#include "compat/explore.h"

#include <algorithm>

#include "base/limits.h"

namespace downfit::compat {
namespace {

void collect_settings(const BoundCondition& condition, const std::string& fact, std::vector<std::string>& settings) {
    for (const BoundCondition& part : condition.parts) collect_settings(part, fact, settings);
    if (condition.kind != schema::Condition::Kind::comparison || condition.fact != fact) return;
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

void branch_on_rules(const Assumptions& from, const AskedRules& asked, std::vector<Assumptions>& open) {
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (!asked.test(rule)) continue;
        const schema::RuleRow& row = schema::rule_table[rule];
        for (std::size_t i = row.action_count; i > 0; --i) {
            Assumptions next = from;
            next.actions[rule] = row.actions[i - 1];
            open.push_back(std::move(next));
        }
        return;
    }
}

void branch_on_fact(const Assumptions& from, const std::string& fact, const ReleasePair& pair,
                    const schema::Release& release, std::vector<Assumptions>& open) {
    if (fact == "variant" ||
        std::any_of(release.variants.begin(), release.variants.end(),
                    [&](const schema::Variant& variant) { return variant.facts.contains(fact); })) {
        for (const schema::Variant& variant : release.variants) {
            Assumptions next = from;
            next.facts["variant"] = variant.name;
            for (const auto& [name, setting] : variant.facts) next.facts.try_emplace(name, setting);
            next.facts.try_emplace(fact);
            open.push_back(std::move(next));
        }
        if (!release.variants.empty()) return;
    }
    for (const std::string& setting : settings_of_fact(pair, fact)) {
        Assumptions next = from;
        next.facts[fact] = setting;
        open.push_back(std::move(next));
    }
}

void judge_run(const ReleasePair& pair, const Hearing& hearing, const KnownAssets& assets, Run& run) {
    if (run.saved.refused || run.loading.refused) return;
    const auto variant = run.assumptions.facts.find("variant");
    const Judge judge(pair, run.saved, run.loading, hearing, assets,
                      variant == run.assumptions.facts.end() ? std::string() : variant->second);
    run.judgements.reserve(pair.links().size());
    for (const Link& link : pair.links()) run.judgements.push_back(judge.judge(link));
    run.lost_protection = judge.lost_protection();
    run.limited = judge.limited_groups();
    run.cost = judge.cost();
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
    Exploration exploration;
    std::vector<Assumptions> open(1);
    open.front().facts = facts;
    while (!open.empty()) {
        if (exploration.runs.size() >= limits::most_runs) {
            exploration.complete = false;
            break;
        }
        Run run;
        run.assumptions = std::move(open.back());
        open.pop_back();
        run.saved = load(pair.saved(), image, run.assumptions);
        run.loading = load(pair.loading(), image, run.assumptions);
        const AskedRules asked = run.saved.asked | run.loading.asked;
        exploration.asked |= asked;
        std::vector<std::string> asked_facts = run.saved.asked_facts;
        const auto& variants = pair.loading().release().variants;
        const bool limits = std::any_of(variants.begin(), variants.end(), [](const schema::Variant& variant) {
            return !variant.limits.empty() || variant.budget || !variant.oldest_release.empty();
        });
        if (limits && !run.assumptions.facts.contains("variant")) asked_facts.emplace_back("variant");
        asked_facts.insert(asked_facts.end(), run.loading.asked_facts.begin(), run.loading.asked_facts.end());
        if (asked.any()) {
            branch_on_rules(run.assumptions, asked, open);
        } else if (!asked_facts.empty()) {
            branch_on_fact(run.assumptions, asked_facts.front(), pair, pair.loading().release(), open);
        } else {
            judge_run(pair, hearing, assets, run);
            exploration.runs.push_back(std::move(run));
        }
    }
    return exploration;
}

std::string assumption_text(const Assumptions& assumptions) {
    std::string text;
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (!assumptions.actions[rule]) continue;
        if (!text.empty()) text += ", ";
        text += schema::rule_table[rule].name;
        text += ": ";
        text += schema::action_name(*assumptions.actions[rule]);
    }
    return text;
}

}  // namespace downfit::compat
