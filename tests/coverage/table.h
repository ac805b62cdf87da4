// The coverage table: axes and change files together, what is wrong with them, and the page that shows them.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "coverage/axes.h"
#include "coverage/change_file.h"

namespace downfit::testing {

struct Table {
    Axes axes;
    std::map<std::string, ChangeFile> files;  ///< by name of the change
};

/// The table that stands in tests/coverage. Throws std::exception, naming the file, where one makes no sense.
[[nodiscard]] Table read_table();

/// Keys of release files, parameters and groups ("parameter.range"), from schemas/format/release.schema.json.
[[nodiscard]] std::set<std::string> keys_of_language();

/// What is wrong, one sentence each: empty cells, entries without a cell, cells filled twice, tests that do not exist
/// or expect something else, changes without a file and files without a change, ways that say nothing, and keys of the
/// language, rules and outcomes that no cell is about.
[[nodiscard]] std::vector<std::string> problems_of(const Table& table, const std::set<std::string>& keys);

/// What a cell expects, wherever it is held; empty where nothing says.
[[nodiscard]] std::string expected_of(const CellEntry& entry);

/// The page docs/coverage.md.
[[nodiscard]] std::string page_of(const Table& table);

}  // namespace downfit::testing
