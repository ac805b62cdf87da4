#include "coverage/table.h"

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "compat/case_file.h"
#include "compat/outcome.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {
namespace {

using Problems = std::vector<std::string>;

/// A rule's name, or that nothing is asked.
std::string place_of(const CellEntry& entry) {
    std::string ways;
    for (const std::string& way : entry.ways) ways += (ways.empty() ? "" : ",") + way;
    return ways + (entry.rule.empty() ? "" : " " + entry.rule + " " + entry.value);
}

void check_axes(const Axes& axes, Problems& problems) {
    std::set<std::string> rules, names;
    for (const RuleFamily& family : rule_families()) rules.insert(family.name);
    std::set<std::string> asked;
    for (const Area& area : axes.areas) {
        for (const Change& change : area.changes) {
            if (!names.insert(change.name).second) problems.push_back(change.name + " stands there twice");
            for (const auto& [way, families] : change.asks) asked.insert(families.begin(), families.end());
            for (const Way& way : axes.ways) {
                const bool asks = change.asks.contains(way.name);
                const auto impossible = change.impossible.find(way.name);
                const bool reason = impossible != change.impossible.end() && !impossible->second.empty();
                if (!way.waiting.empty() ? asks : asks == reason) {
                    problems.push_back(change.name + ": by " + way.name +
                                       " it has either cells or a reason why it is impossible");
                }
            }
        }
    }
    for (const std::string& rule : rules) {
        if (!asked.contains(rule)) problems.push_back("no change asks for the rule " + rule);
    }
    for (const std::string& rule : asked) {
        if (!rules.contains(rule)) problems.push_back("there is no rule " + rule);
    }
}

void check_keys(const Axes& axes, const std::set<std::string>& keys, Problems& problems) {
    std::set<std::string> named;
    for (const Area& area : axes.areas) {
        for (const Change& change : area.changes) named.insert(change.keys.begin(), change.keys.end());
    }
    for (const auto& [key, reason] : axes.keys_without_cells) {
        if (named.contains(key)) problems.push_back(key + " has cells and a reason why it has none");
        if (reason.empty()) problems.push_back(key + " has no cells and no reason");
        named.insert(key);
    }
    for (const std::string& key : keys) {
        if (!named.contains(key)) problems.push_back("no change is about the key " + key);
    }
    for (const std::string& key : named) {
        if (!keys.contains(key)) problems.push_back("the language has no key " + key);
    }
}

void check_held(const std::string& change, const CellEntry& entry, Problems& problems) {
    if (!entry.held_file.empty() && expected_of(entry).empty()) {
        problems.push_back(change + ": " + place_of(entry) + " names a test that does not exist: " + entry.held_file +
                           " " + entry.held_dump + " " + entry.held_on);
    }
    if (entry.held_file.empty() && entry.expected.empty()) {
        problems.push_back(change + ": " + place_of(entry) + " expects nothing");
    }
}

void check_file(const Change& change, const ChangeFile& file, const std::vector<Cell>& cells, Problems& problems) {
    std::set<std::string> filled;
    for (const Cell& cell : cells) {
        if (cell.change != &change) continue;
        const auto entries = file.entries_of(cell);
        if (entries.empty()) problems.push_back("empty cell " + cell.test_name());
        if (entries.size() > 1) problems.push_back("filled twice: " + cell.test_name());
        for (const std::string& way : entries.empty() ? std::set<std::string>() : entries.front()->ways) {
            filled.insert(way + " " + cell.rule + " " + cell.value);
        }
        if (!entries.empty() && entries.front()->held_file.empty() && file.preset("breaking", cell.way) == nullptr) {
            problems.push_back(change.name + ": by " + cell.way + " there is no preset `breaking`");
        }
    }
    for (const CellEntry& entry : file.entries) {
        check_held(change.name, entry, problems);
        for (const std::string& way : entry.ways) {
            const bool cell = std::any_of(cells.begin(), cells.end(), [&](const Cell& there) {
                return there.change == &change && there.way == way && there.rule == entry.rule &&
                       there.value == entry.value;
            });
            if (!cell) problems.push_back(change.name + ": no cell " + way + " " + entry.rule + " " + entry.value);
        }
    }
    for (const auto& [way, families] : change.asks) {
        const auto holds = [&, &name = way](const ForWays& section) { return section.holds_for(name); };
        const bool check = std::any_of(file.checks.begin(), file.checks.end(), holds);
        const bool reason = std::any_of(file.no_checks.begin(), file.no_checks.end(), holds);
        if (check == reason) {
            problems.push_back(change.name + ": by " + way +
                               " it has either a preset that it does not touch or a reason why there is none");
        }
    }
}

void check_outcomes(const Table& table, Problems& problems) {
    std::set<std::string> shown;
    for (const auto& [name, file] : table.files) {
        for (const CellEntry& entry : file.entries) {
            const std::string expected = expected_of(entry);
            for (const compat::OutcomeRow& row : compat::outcome_table()) {
                const bool here = expected.find(" " + std::string(row.name) + " ") != std::string::npos ||
                                  (row.outcome == compat::Outcome::kept && expected == "intact\n");
                if (here) shown.insert(std::string(row.name));
            }
        }
    }
    for (const compat::OutcomeRow& row : compat::outcome_table()) {
        if (!shown.contains(std::string(row.name))) problems.push_back("no cell shows " + std::string(row.name));
    }
}

}  // namespace

Table read_table() {
    Table table;
    table.axes = read_axes(read_text(in_tests("coverage/axes.json")));
    for (const auto& entry : std::filesystem::directory_iterator(in_tests("coverage/changes"))) {
        const std::string name = entry.path().stem().string();
        try {
            table.files.emplace(name, read_change(name, read_text(entry.path())));
        } catch (const std::exception& problem) {
            throw std::runtime_error("coverage/changes/" + name + ".case: " + problem.what());
        }
    }
    return table;
}

std::set<std::string> keys_of_language() {
    const auto schema = nlohmann::json::parse(read_text(project_folder() / "schemas/format/release.schema.json"));
    std::set<std::string> keys;
    for (const auto& [key, value] : schema.at("properties").items()) keys.insert("release." + key);
    for (const char* part : {"parameter", "group"}) {
        for (const auto& [key, value] : schema.at("definitions").at(part).at("properties").items()) {
            keys.insert(std::string(part) + "." + key);
        }
    }
    return keys;
}

std::vector<std::string> problems_of(const Table& table, const std::set<std::string>& keys) {
    Problems problems;
    check_axes(table.axes, problems);
    check_keys(table.axes, keys, problems);
    const std::vector<Cell> cells = cells_of(table.axes);
    std::set<std::string> known;
    for (const Area& area : table.axes.areas) {
        for (const Change& change : area.changes) {
            known.insert(change.name);
            const auto file = table.files.find(change.name);
            if (file == table.files.end()) {
                problems.push_back(change.name + " has no file: all its cells are empty");
            } else {
                check_file(change, file->second, cells, problems);
            }
        }
    }
    for (const auto& [name, file] : table.files) {
        if (!known.contains(name)) problems.push_back("no change " + name + " for its file");
    }
    check_outcomes(table, problems);
    return problems;
}

std::string expected_of(const CellEntry& entry) {
    if (entry.held_file.empty()) return entry.expected;
    if (!std::filesystem::exists(in_tests(entry.held_file))) return {};
    for (const ExpectedCheck& check : read_case(entry.held_file).checks) {
        if (check.dump == entry.held_dump && check.release == entry.held_on) return check.expected;
    }
    return {};
}

}  // namespace downfit::testing
