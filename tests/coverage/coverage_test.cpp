// The coverage table (docs/coverage.md): each cell is there, comes out as written, and the page shows what is written.
#include "compat/case_file.h"
#include "coverage/table.h"
#include "support/catch.h"
#include "support/golden.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

std::string together(const std::vector<std::string>& lines) {
    std::string text;
    for (const std::string& line : lines) text += line + "\n";
    return text;
}

void check_cell(const ChangeFile& file, const Cell& cell, const CellEntry& entry) {
    const CaseFile device = case_from(case_text(file, cell), cell.test_name());
    for (const auto& [name, bytes] : device.dumps) {
        INFO(name);
        CHECK(writes_back(device, bytes));
    }
    const ForWays* breaking = file.preset("breaking", cell.way);
    REQUIRE(breaking != nullptr);
    CHECK(check_compact(device, device.dumps.at("breaking"), file.target_of(*breaking)) == entry.expected);
    for (const ForWays& check : file.checks) {
        if (!check.holds_for(cell.way)) continue;
        const ForWays* preset = file.preset(check.head, cell.way);
        INFO("preset " << check.head);
        REQUIRE(preset != nullptr);
        CHECK(check_compact(device, device.dumps.at(check.head), file.target_of(*preset)) == check.text);
    }
}

}  // namespace

TEST_CASE("no cell is empty, and nothing stands beside the table") {
    CHECK(together(problems_of(read_table(), keys_of_language())) == "");
}

TEST_CASE("every cell comes out as its file says") {
    const Table table = read_table();
    for (const Cell& cell : cells_of(table.axes)) {
        const auto file = table.files.find(cell.change->name);
        if (file == table.files.end()) continue;  // told above
        const auto entries = file->second.entries_of(cell);
        if (entries.empty() || !entries.front()->held_file.empty()) continue;
        DYNAMIC_SECTION(cell.test_name()) {
            check_cell(file->second, cell, *entries.front());
        }
    }
}

TEST_CASE("no way of finding storage waits for its cells") {
    for (const Way& way : read_table().axes.ways) CHECK(way.waiting == "");
}

TEST_CASE("docs/coverage.md shows the table") {
    check_golden(page_of(read_table()), "../docs/coverage.md");
}
