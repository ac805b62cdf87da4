// Fuzz target: release files as tables. The first byte says how the rest, the text of a table, is to be understood.
// Promised: a release file, or reasons with places in the table; what became a sound release file comes back from its
// table with nothing lost, and a second time byte by byte; no cell of it is a formula; problems of the release are
// placed in the table.
#include "schema/table.h"

#include <charconv>
#include <memory>
#include <nlohmann/json.hpp>

#include "base/csv.h"
#include "fuzz/promises.h"
#include "fuzz/target.h"
#include "support/file.h"
#include "support/paths.h"

namespace {

using namespace downfit;

constexpr std::uint8_t decimal_comma = 0x01;
constexpr std::uint8_t hexadecimal = 0x02;
constexpr std::uint8_t one_release = 0x04;
constexpr std::uint8_t manual = 0x08;
constexpr std::uint8_t told_separator = 0x10;

schema::TableReading reading_of(std::uint8_t control) {
    schema::TableReading reading;
    reading.decimal_comma = (control & decimal_comma) != 0;
    reading.hexadecimal = (control & hexadecimal) != 0;
    reading.fallback_device = "goldcrest";
    if (control & one_release) reading.release = "1.1";
    if (control & told_separator) reading.separator = ';';
    if (control & manual) {
        reading.columns = {{"at", "No."}, {"minimum", "From"}, {"maximum", "To"}, {"choices", "Options"}};
        reading.ignored = {"Remarks"};
        reading.source = "a table";
    }
    return reading;
}

bool is_number(std::string_view text) {
    double number = 0;
    if (text.starts_with('+')) text.remove_prefix(1);
    const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    return error == std::errc{} && stop == text.data() + text.size();
}

void look_at_cells(const std::string& csv) {
    const auto table = read_csv("again.csv", csv);
    fuzz::require(table.ok(), "an exported table can be read");
    for (const CsvRow& row : table.value().rows) {
        for (const CsvCell& cell : row.cells) {
            fuzz::require(!starts_like_formula(cell.text) || is_number(cell.text), "no cell is a formula");
        }
    }
}

/// The release file that comes back from its own table.
std::string there_and_back(const std::string& text) {
    const std::vector<schema::SourceFile> files{{"release.json", text}};
    const auto table = schema::export_table(files, {});
    fuzz::require(table.ok(), "what was imported can be exported");
    look_at_cells(table.value());
    const auto again = schema::import_table({"again.csv", table.value()}, {});
    fuzz::require(again.ok(), again ? "" : "what was exported can be imported: " + again.problems().front().what);
    return again.value().text;
}

void go_round(const schema::ImportedRelease& release) {
    const std::string once = there_and_back(release.text);
    fuzz::require(nlohmann::json::parse(once) == nlohmann::json::parse(release.text),
                  "nothing is lost on the way there and back");
    fuzz::require(there_and_back(once) == once, "a second trip changes no byte");
}

void load(const schema::ImportedRelease& release) {
    static const std::string device = testing::read_text(testing::in_tests("fuzz/goldcrest") / "device.json");
    static const std::string before = testing::read_text(testing::in_tests("fuzz/goldcrest") / "1.0.json");
    const auto loaded =
        schema::load_device({{"device.json", device}, {"1.0.json", before}, {"1.1.json", release.text}});
    if (loaded) return;
    fuzz::look_at_problems(release.in_table("1.1.json", loaded.problems()), {"table.csv", "device.json", "1.0.json"});
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const schema::TableReading reading = reading_of(input.byte());
    const ByteView rest = input.rest();
    const auto release = schema::import_table({"table.csv", std::string(rest.begin(), rest.end())}, reading);
    if (!release) {
        fuzz::look_at_problems(release.problems(), {"table.csv"});
        return 0;
    }
    const Problems alone = release.value().in_table("1.1.json", schema::check_alone(release.value(), "1.1.json"));
    if (!alone.empty()) fuzz::look_at_problems(alone, {"table.csv"});
    if (alone.empty()) go_round(release.value());
    load(release.value());
    return 0;
}
