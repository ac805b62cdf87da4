#include "coverage/axes.h"

#include <nlohmann/json.hpp>

#include "schema/rules.h"

namespace downfit::testing {

std::vector<RuleFamily> rule_families() {
    std::vector<RuleFamily> families;
    for (const schema::RuleRow& row : schema::rule_table) {
        RuleFamily family{std::string(row.name), {}};
        for (std::size_t i = 0; i < row.action_count; ++i) {
            family.values.emplace_back(schema::action_name(row.actions[i]));
        }
        families.push_back(std::move(family));
    }
    RuleFamily refuses{"refuses", {}};
    for (const auto what :
         {schema::Refuses::parameter, schema::Refuses::block, schema::Refuses::preset, schema::Refuses::dump}) {
        refuses.values.emplace_back(schema::refuses_name(what));
    }
    families.push_back(std::move(refuses));
    for (RuleFamily& family : families) family.values.emplace_back("unstated");
    return families;
}

Axes read_axes(const std::string& json) {
    const auto text = nlohmann::json::parse(json);
    Axes axes;
    for (const auto& way : text.at("ways")) {
        axes.ways.push_back({way.at("way"), way.at("title"), way.value("waiting", std::string())});
    }
    for (const auto& area : text.at("areas")) {
        axes.areas.push_back({area.at("title"), {}});
        for (const auto& change : area.at("changes")) {
            axes.areas.back().changes.push_back({change.at("change"), change.at("title"), change.at("keys"),
                                                 change.at("asks"),
                                                 change.value("impossible", std::map<std::string, std::string>())});
        }
    }
    axes.keys_without_cells = text.at("keys-without-cells");
    return axes;
}

std::string Cell::test_name() const {
    return change->name + "/" + way + (rule.empty() ? "" : "/" + rule + "=" + value);
}

std::vector<Cell> cells_of(const Axes& axes) {
    std::map<std::string, RuleFamily> families;
    for (RuleFamily& family : rule_families()) families.emplace(family.name, family);
    std::vector<Cell> cells;
    for (const Area& area : axes.areas) {
        for (const Change& change : area.changes) {
            for (const Way& way : axes.ways) {
                const auto asks = change.asks.find(way.name);
                if (asks == change.asks.end()) continue;
                if (asks->second.empty()) cells.push_back({&change, way.name, {}, {}});
                for (const std::string& rule : asks->second) {
                    for (const std::string& value : families.at(rule).values) {
                        cells.push_back({&change, way.name, rule, value});
                    }
                }
            }
        }
    }
    return cells;
}

}  // namespace downfit::testing
