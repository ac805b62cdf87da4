// The axes of the coverage table: kinds of change between two release files × how storage is found × what the rule
// that is asked for says (tests/coverage/axes.json). The cells follow from them; what is in a cell is written by hand,
// one file a kind of change (change_file.h).
#pragma once

#include <map>
#include <string>
#include <vector>

namespace downfit::testing {

/// A loading rule with everything that may be stated for it, "unstated" last.
struct RuleFamily {
    std::string name;
    std::vector<std::string> values;
};

/// The rules of the language, from the library's own table, then "refuses".
[[nodiscard]] std::vector<RuleFamily> rule_families();

/// A way in which a release finds what is stored.
struct Way {
    std::string name;     ///< "position"
    std::string title;    ///< what it means
    std::string waiting;  ///< why it has no cells yet; empty where it has
};

/// A kind of change between the release that saved a preset and the one that loads it.
struct Change {
    std::string name;                                      ///< also its file: changes/NAME.case
    std::string title;                                     ///< one sentence
    std::vector<std::string> keys;                         ///< of the language, that it changes: "parameter.range"
    std::map<std::string, std::vector<std::string>> asks;  ///< by way: the rules that decide; none: nothing is asked
    std::map<std::string, std::string> impossible;         ///< by way: why there is no such change
};

/// Changes that belong together.
struct Area {
    std::string title;
    std::vector<Change> changes;
};

struct Axes {
    std::vector<Way> ways;
    std::vector<Area> areas;
    std::map<std::string, std::string> keys_without_cells;  ///< keys that never bear on loading, with the reason
};

/// Reads axes. Throws std::exception where the text is no such JSON.
[[nodiscard]] Axes read_axes(const std::string& json);

/// One cell of the table. Empty `rule` where nothing is asked for.
struct Cell {
    const Change* change = nullptr;  ///< of the axes that it was made from
    std::string way, rule, value;

    /// Name of the test that holds it: "range-narrowed/tag/out-of-range=clamp".
    [[nodiscard]] std::string test_name() const;
};

/// All possible cells, in the order of the axes.
[[nodiscard]] std::vector<Cell> cells_of(const Axes& axes);

}  // namespace downfit::testing
