#include <sstream>

#include "coverage/table.h"

namespace downfit::testing {
namespace {

constexpr const char* introduction = R"(# Coverage

Every kind of change between two release files × how storage is found × what the loading rule that is asked for says: what comes out. What stands in a cell is written by hand
in `tests/coverage/changes/`, and a test of the name in the last column holds Downfit to it; a cell without one fails the tests. [loading.md](loading.md) explains the words.

The table is made of three lists. *Kinds of change*: `tests/coverage/axes.json`; every key of the language that may bear on loading belongs to one. *How storage is found*: below. *Loading rules*:
the library's own table of them, each with its possibilities, and unstated. A rule that does not stand in a table is never asked for there: in every cell only the rule in question is stated (beside those for
stamps, and what the saving release or a line `beside` in the file states), so that any other would come out as undecided. Each change is tried with a preset that it touches, in the table, and with one that it does not, above it.

One test alone: `build/debug/tests/test_coverage "every cell comes out as its file says" -c NAME`. After a wanted change: `UPDATE_GOLDEN=1 ctest --test-dir build/debug -R coverage`.

)";

/// Lines of expected text as one table cell.
std::string in_cell(const std::string& text) {
    std::string cell;
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        if (line.empty()) continue;
        cell += cell.empty() ? "`" : "<br>`";
        for (const char c : line) cell += c == '|' ? std::string("\\|") : std::string(1, c);
        cell += "`";
    }
    return cell;
}

std::string one_line(const std::string& text) {
    std::string line = text;
    while (!line.empty() && line.back() == '\n') line.pop_back();
    for (char& c : line) c = c == '\n' ? ' ' : c;
    return line;
}

void add_untouched(const ChangeFile& file, std::string& page) {
    const auto ways_of = [](const ForWays& section) {
        std::string ways;
        for (const std::string& way : section.ways) ways += (ways.empty() ? " (by " : ", by ") + way;
        return ways.empty() ? ways : ways + ")";
    };
    for (const ForWays& check : file.checks) {
        const std::string name = check.head == "clean" ? "Untouched" : "A preset \"" + check.head + "\"";
        page += name + ways_of(check) + ": " + in_cell(check.text) + "\n\n";
    }
    for (const ForWays& none : file.no_checks) {
        page += "No preset is untouched" + ways_of(none) + ": " + one_line(none.text) + "\n\n";
    }
}

void add_change(const Table& table, const Change& change, const std::vector<Cell>& cells, std::string& page) {
    page += "### " + change.title + "\n\n";
    const auto file = table.files.find(change.name);
    if (file == table.files.end()) return;
    if (!file->second.about.empty()) page += file->second.about + "\n\n";
    add_untouched(file->second, page);
    page += "| found by | rule | says | outcome | test |\n| --- | --- | --- | --- | --- |\n";
    for (const Cell& cell : cells) {
        if (cell.change != &change) continue;
        const auto entries = file->second.entries_of(cell);
        const std::string rule = cell.rule.empty() ? "none is asked" : "`" + cell.rule + "`";
        const std::string value = cell.value.empty()         ? ""
                                  : cell.value == "unstated" ? cell.value
                                                             : "`" + cell.value + "`";
        page += "| " + cell.way + " | " + rule + " | " + value + " | ";
        if (entries.empty()) {
            page += "**empty** | |\n";
            continue;
        }
        const CellEntry& entry = *entries.front();
        const std::string test = entry.held_file.empty()
                                     ? cell.test_name()
                                     : entry.held_file + ": " + entry.held_dump + " on " + entry.held_on;
        page += in_cell(expected_of(entry)) + " | `" + test + "` |\n";
    }
    for (const Way& way : table.axes.ways) {
        const auto why = change.impossible.find(way.name);
        if (why != change.impossible.end()) page += "| " + way.name + " | impossible | | " + why->second + " | |\n";
    }
    page += "\n";
}

}  // namespace

std::string page_of(const Table& table) {
    const std::vector<Cell> cells = cells_of(table.axes);
    std::size_t changes = 0, impossible = 0;
    for (const Area& area : table.axes.areas) {
        changes += area.changes.size();
        for (const Change& change : area.changes) impossible += change.impossible.size();
    }
    std::string page = introduction;
    page += std::to_string(changes) + " kinds of change, " + std::to_string(cells.size()) + " cells; " +
            std::to_string(impossible) + " pairs of change and way are impossible, with the reason.\n\n";
    page += "| found by | |\n| --- | --- |\n";
    for (const Way& way : table.axes.ways) {
        page += "| " + way.name + " | " + way.title + (way.waiting.empty() ? "" : " **No cells yet**: " + way.waiting) +
                " |\n";
    }
    page += "\n";
    for (const Area& area : table.axes.areas) {
        page += "## " + area.title + "\n\n";
        for (const Change& change : area.changes) add_change(table, change, cells, page);
    }
    page += "## Keys without cells\n\n| key | why |\n| --- | --- |\n";
    for (const auto& [key, why] : table.axes.keys_without_cells) page += "| `" + key + "` | " + why + " |\n";
    return page;
}

}  // namespace downfit::testing
