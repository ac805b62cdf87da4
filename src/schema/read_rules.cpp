#include <algorithm>
#include <array>

#include "schema/read_parameter.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 4> refusals{"parameter", "block", "preset", "dump"};
constexpr std::array<Rule, 3> rules_of_presets{Rule::longer_image, Rule::newer_stamp, Rule::older_stamp};

static_assert(static_cast<std::size_t>(Refuses::dump) + 1 == refusals.size());

bool only_of_presets(Rule rule) {
    return std::ranges::find(rules_of_presets, rule) != rules_of_presets.end();
}

std::vector<std::string_view> rule_keys(bool of_parameter) {
    std::vector<std::string_view> keys{"tolerance", "refuses"};
    for (const RuleRow& row : rule_table) {
        if (!of_parameter || !only_of_presets(row.rule)) keys.push_back(row.name);
    }
    return keys;
}

}  // namespace

std::optional<Refuses> read_refuses(const ObjectReader& reader) {
    const auto word = reader.word("refuses", refusals);
    return word ? std::optional(static_cast<Refuses>(*word)) : std::nullopt;
}

Rules read_rules(const Node& node, bool of_parameter, Problems& problems) {
    Rules rules;
    const auto keys = rule_keys(of_parameter);
    const ObjectReader reader(node, of_parameter ? "loading rules of a parameter" : "loading rules", keys, problems);
    for (const RuleRow& row : rule_table) {
        if (of_parameter && only_of_presets(row.rule)) continue;
        std::vector<std::string_view> names;
        for (std::size_t i = 0; i < row.action_count; ++i) names.push_back(action_name(row.actions[i]));
        const auto word = reader.word(row.name, names);
        if (word) rules.actions[static_cast<std::size_t>(row.rule)] = row.actions[*word];
    }
    rules.tolerance = reader.number("tolerance");
    if (rules.tolerance && *rules.tolerance < 0) {
        report_found(problems, *reader.find("tolerance"), "a number from 0 up");
    }
    rules.refuses = read_refuses(reader);
    return rules;
}

std::vector<RulePlace> rule_places(const Node& node) {
    std::vector<RulePlace> places;
    for (const RuleRow& row : rule_table) {
        if (const Node* rule = node.find(row.name)) places.push_back({row.rule, rule->key_place()});
    }
    return places;
}

}  // namespace downfit::schema
