// Release files as tables and back: nothing is lost, nothing changes on the second trip, no cell is a formula.
#include "schema/table.h"

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "base/csv.h"
#include "schema/format_texts.h"
#include "schema/resolved.h"
#include "schema/table_columns.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"
#include "support/property.h"

namespace downfit::testing {

namespace {

using namespace schema;
using OrderedJson = nlohmann::ordered_json;
namespace fs = std::filesystem;

OrderedJson parse(const std::string& text) {
    return OrderedJson::parse(text, nullptr, true, true);
}

std::string first_problem(const Problems& problems) {
    return problems.front().what + " / " + problems.front().expected;
}

std::string exported(const std::vector<SourceFile>& files, const TableForm& form = {}) {
    const Result<std::string> table = export_table(files, form);
    if (!table) FAIL(first_problem(table.problems()));
    return table.value();
}

ImportedRelease imported(const std::string& table, const TableReading& reading = {}) {
    const Result<ImportedRelease> release = import_table({"t.csv", table}, reading);
    if (!release) FAIL(first_problem(release.problems()));
    return release.value();
}

std::vector<SourceFile> folder_files(const fs::path& folder) {
    std::vector<SourceFile> files;
    for (const auto& entry : fs::directory_iterator(folder)) {
        if (entry.path().extension() == ".json") files.push_back({entry.path().string(), read_text(entry.path())});
    }
    std::ranges::sort(files, {}, &SourceFile::name);
    return files;
}

bool is_release(const SourceFile& file) {
    return file.text.find("\"downfit release 1\"") != std::string::npos;
}

/// The order of what stands in a section counts, that of anything else does not.
void check_same(const OrderedJson& before, const OrderedJson& after) {
    CHECK(nlohmann::json(before) == nlohmann::json(after));
    for (const char* section : {"choice-lists", "groups", "parameters"}) {
        if (!before.contains(section) || !before[section].is_object()) continue;
        std::vector<std::string> first, second;
        for (const auto& item : before[section].items()) first.push_back(item.key());
        for (const auto& item : after[section].items()) second.push_back(item.key());
        CHECK(first == second);
    }
}

bool is_number(const std::string& text) {
    return !text.empty() && text.find_first_not_of("+-0123456789.,e") == std::string::npos;
}

void check_safe(const std::string& table, char separator) {
    const CsvTable csv = read_csv("t.csv", table, separator).value();
    for (const CsvRow& row : csv.rows) {
        for (const CsvCell& cell : row.cells) {
            if (is_number(cell.text)) continue;
            INFO(cell.text);
            if (starts_like_formula(cell.text)) FAIL_CHECK("a cell that a spreadsheet takes for a formula");
        }
    }
}

const std::vector<TableForm> forms{{}, {';', true, true}, {'\t', false, false}, {',', true, false}};

}  // namespace

TEST_CASE("table: every release of the demo devices comes back", "[table]") {
    for (const std::string device : {"dunlin-6", "pipit"}) {
        const std::vector<SourceFile> files = folder_files(project_folder() / "schemas" / device);
        const std::string meaning = resolved_text(load_device(files).value());
        for (const TableForm& form : forms) {
            std::vector<SourceFile> back = files;
            for (SourceFile& file : back) {
                if (!is_release(file)) continue;
                INFO(file.name);
                const std::string table = exported({file}, form);
                check_safe(table, form.separator);
                TableReading reading;
                reading.decimal_comma = form.decimal_comma;
                const ImportedRelease release = imported(table, reading);
                check_same(parse(file.text), parse(release.text));
                CHECK(exported({{"x", release.text}}, form) == table);
                CHECK(imported(exported({{"x", release.text}}, form), reading).text == release.text);
                file.text = release.text;
            }
            const Result<Device> loaded = load_device(back);
            REQUIRE(loaded.ok());
            CHECK(resolved_text(loaded.value()) == meaning);
            CHECK(loaded.value().framings == load_device(files).value().framings);
        }
    }
}

TEST_CASE("table: every good schema file of the tests comes back", "[table]") {
    std::size_t seen = 0;
    for (const auto& entry : fs::recursive_directory_iterator(in_tests("formats/valid"))) {
        if (entry.path().extension() != ".json") continue;
        const SourceFile file{entry.path().string(), read_text(entry.path())};
        if (!is_release(file)) continue;
        ++seen;
        INFO(file.name);
        const std::string table = exported({file});
        check_safe(table, ',');
        check_same(parse(file.text), parse(imported(table).text));
    }
    CHECK(seen >= 5);
}

TEST_CASE("table: several releases in one", "[table]") {
    std::vector<SourceFile> files = folder_files(project_folder() / "schemas" / "dunlin-6");
    std::erase_if(files, [](const SourceFile& file) { return !is_release(file); });
    const std::string table = exported(files);
    for (const SourceFile& file : files) {
        TableReading reading;
        reading.release = parse(file.text)["release"];
        check_same(parse(file.text), parse(imported(table, reading).text));
    }
    const Result<ImportedRelease> none = import_table({"t.csv", table}, {});
    REQUIRE_FALSE(none.ok());
    CHECK(none.problems().front().what == "the table has several releases");
    CHECK(none.problems().front().remedy == "--release NAME says which");
    TableReading wrong;
    wrong.release = "3.1";
    const Result<ImportedRelease> unknown = import_table({"t.csv", table}, wrong);
    REQUIRE_FALSE(unknown.ok());
    CHECK(unknown.problems().front().remedy == "did you mean \"3.10\"?");
}

TEST_CASE("table: texts that spreadsheets or readers could misread come back", "[table]") {
    const std::vector<std::string> hard{"=1+1",    "+1",    "-1",    "@x",  "\tx",  "\rx",  "\nx",   "＝1",  "'=1",
                                        "'x",      "\"x\"", "{}",    "[1]", "null", "true", "false", "12",   "1/4",
                                        "2.10",    "1e5",   " x ",   "a;b", "a|b",  "a,b",  "a\nb",  "0=A",  "1: B",
                                        "%",       "€",     "x\x7F", "\"",  "\\",   "NULL", "0x10",  "MAR1", "-",
                                        "a \"b\"", "=",     "inf",   "nan", "1,5",  "1.5",  "a\r\nb"};
    OrderedJson release = {{"format", "downfit release 1"}, {"device", "wren"}, {"release", "1.0"}};
    std::size_t number = 0;
    for (const std::string& text : hard) {
        OrderedJson& one = release["parameters"]["p" + std::to_string(number++)];
        one = {{"at", 0},
               {"title", text},
               {"default", text},
               {"note", text},
               {"choices", OrderedJson::array({text, "Other"})}};
        OrderedJson& two = release["parameters"]["p" + std::to_string(number++)];
        two = {{"at", 0}, {"choices", {{text, 0}, {"Other", -1}}}, {"neutral", text}, {"source", text}};
        release["choice-lists"][text] = {{text, 5}};
        release["parameters"]["p" + std::to_string(number++)] = {{"at", 0}, {"choices", text}};
    }
    release["notes"] = hard;
    release["source"] = "=cmd";
    for (const TableForm& form : forms) {
        const std::string table = exported({{"x", release.dump()}}, form);
        check_safe(table, form.separator);
        TableReading reading;
        reading.decimal_comma = form.decimal_comma;
        check_same(release, parse(imported(table, reading).text));
    }
}

TEST_CASE("table: values of any form come back", "[table]") {
    const auto any_text =
        rc::gen::container<std::string>(rc::gen::elementOf(std::string("ab1=-+@;|,:\"'{}[] \t\n\r.%/\\x")));
    holds("a random release", [&] {
        OrderedJson release = {{"format", "downfit release 1"}, {"device", "wren"}, {"release", *any_text}};
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (columns[i].key.empty()) continue;
            const std::string key(columns[i].key);
            OrderedJson value;
            switch (*rc::gen::inRange(0, 9)) {
                case 0: value = nullptr; break;
                case 1: value = *rc::gen::arbitrary<bool>(); break;
                case 2: value = *rc::gen::inRange(-300, 300); break;
                case 3: value = *rc::gen::inRange(-3000, 3000) / 8.0; break;
                case 4: value = *any_text; break;
                case 5: value = OrderedJson::array({*any_text, *any_text}); break;
                case 6: value = {{*any_text, *rc::gen::inRange(-3, 3)}, {*any_text, 4}}; break;
                case 7: value = OrderedJson::array({*rc::gen::inRange(-9, 9), *rc::gen::inRange(-9, 9)}); break;
                default: value = {{"stored", {0, 127}}, {"value", {-60.5, 12}}, {"taper", *any_text}}; break;
            }
            for (const char* id : {"a", "b.c", "-d"}) {
                if (*rc::gen::inRange(0, 3) > 0) release["parameters"][id][key] = value;
            }
        }
        const std::string text = release.dump();
        for (const TableForm& form : forms) {
            TableReading reading;
            reading.decimal_comma = form.decimal_comma;
            const Result<std::string> table = export_table(std::vector<SourceFile>{{"x", text}}, form);
            RC_ASSERT(table.ok());
            const Result<ImportedRelease> back = import_table({"t.csv", table.value()}, reading);
            // Words that a column does not know are told, never changed.
            if (!back.ok()) RC_FAIL(first_problem(back.problems()));
            RC_ASSERT(nlohmann::json(parse(back.value().text)) == nlohmann::json(release));
        }
    });
}

TEST_CASE("table: a text that is a unit comes back wherever it stands", "[table]") {
    const OrderedJson release = {{"format", "downfit release 1"},
                                 {"device", "wren"},
                                 {"release", "%"},
                                 {"source", "%"},
                                 {"parameters", {{"mix", {{"at", 0}, {"unit", "%"}, {"title", "%"}}}}}};
    for (const TableForm& form : forms) {
        TableReading reading;
        reading.decimal_comma = form.decimal_comma;
        check_same(release, parse(imported(exported({{"x", release.dump()}}, form), reading).text));
    }
}

TEST_CASE("table: 3,000 parameters as copied out of a manual", "[table]") {
    std::string table = "\xEF\xBB\xBFName;Offset;Lowest;Highest;Factory;Unit;Values\r\n";
    for (int i = 0; i < 3000; ++i) {
        const std::string number = std::to_string(i);
        table += "Knob " + number + ";" + number + ";";
        table += i % 3 == 0 ? ";;Hall;;Room, Hall, Plate\r\n" : "-6,5;12;0;dB;\r\n";
    }
    TableReading reading;
    reading.decimal_comma = true;
    reading.device = "wren";
    reading.release = "1.0";
    reading.columns = {
        {"at", "Offset"}, {"minimum", "Lowest"}, {"maximum", "Highest"}, {"default", "Factory"}, {"choices", "Values"}};
    const auto start = std::chrono::steady_clock::now();
    const ImportedRelease release = imported(table, reading);
    CHECK(release.parameters == 3000);
    CHECK(parse(release.text)["parameters"]["knob-1"] ==
          OrderedJson({{"title", "Knob 1"}, {"at", 1}, {"unit", "dB"}, {"range", {-6.5, 12}}, {"default", 0}}));
    CHECK(parse(release.text)["parameters"]["knob-2997"] ==
          OrderedJson(
              {{"title", "Knob 2997"}, {"at", 2997}, {"default", "Hall"}, {"choices", {"Room", "Hall", "Plate"}}}));
    const std::string again = exported({{"x", release.text}});
    CHECK(imported(again).text == release.text);
    CHECK(exported({{"x", imported(again).text}}) == again);
    CHECK(check_alone(release, "x").empty());
    const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
    INFO(taken.count());
    CHECK(taken.count() < 60);  // a second or two; linear, not quadratic
}

TEST_CASE("table: the words of columns are those of the published grammar", "[table]") {
    const OrderedJson format = parse(std::string(release_format()));
    const OrderedJson device = parse(std::string(device_format()));
    const auto compare = [](std::string_view column, bool group, const OrderedJson& words) {
        std::vector<std::string> ours, theirs;
        for (const std::string_view word : column_words(column, group)) ours.emplace_back(word);
        for (const OrderedJson& word : words) {
            if (word.is_string()) theirs.push_back(word);
        }
        std::ranges::sort(ours);
        std::ranges::sort(theirs);
        CAPTURE(column);
        CHECK(ours == theirs);
        CHECK_FALSE(ours.empty());
    };
    const OrderedJson& parameter = format["definitions"]["parameter"]["properties"];
    const OrderedJson& group = format["definitions"]["group"]["properties"];
    for (const char* key : {"as", "signed", "encoding", "kind", "refers-by", "scope", "documented"})
        compare(key, false, parameter[key]["enum"]);
    compare("order", false, device["definitions"]["endian"]["enum"]);
    compare("unit", false, format["definitions"]["unit"]["enum"]);
    compare("role", false, format["definitions"]["role"]["enum"]);
    compare("scale-taper", false, format["definitions"]["scale"]["properties"]["taper"]["enum"]);
    compare("kind", true, group["kind"]["enum"]);
    compare("role", true, group["role"]["enum"]);
    // And every key of parameters and groups has a column.
    for (const OrderedJson* properties : {&parameter, &group}) {
        for (const auto& item : properties->items()) {
            CAPTURE(item.key());
            CHECK(std::ranges::any_of(columns, [&](const Column& column) { return column.key == item.key(); }));
        }
    }
}

}  // namespace downfit::testing
