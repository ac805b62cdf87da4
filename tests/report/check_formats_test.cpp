// The reports for other programs: CSV, Markdown, JUnit XML, SARIF. tests/report/formats_test.py reads the golden files
// with independent readers, and compares the formats on real dumps.
#include <nlohmann/json.hpp>
#include <pugixml.hpp>
#include <string>

#include "base/csv.h"
#include "report/check_csv.h"
#include "report/check_html.h"
#include "report/check_json.h"
#include "report/check_junit.h"
#include "report/check_markdown.h"
#include "report/check_sarif.h"
#include "report/escape.h"
#include "report/markdown.h"
#include "report/sample_report.h"
#include "report/sarif_rules.h"
#include "support/catch.h"
#include "support/golden.h"

namespace downfit::report {

namespace {

using nlohmann::json;

}  // namespace

TEST_CASE("reports for other programs", "[report][formats]") {
    const CheckReport one = sample_report(), all = sample_report_on_all(), hostile = sample_hostile_report();
    testing::check_golden(check_csv(one), "report/golden/one-release.csv");
    testing::check_golden(check_csv(hostile), "report/golden/hostile.csv");
    testing::check_golden(check_markdown(one, Extent::presets), "report/golden/one-release.md");
    testing::check_golden(check_markdown(all, Extent::details), "report/golden/all-releases-detail.md");
    testing::check_golden(check_markdown(one, Extent::summary), "report/golden/one-release-summary.md");
    testing::check_golden(check_markdown(hostile, Extent::details), "report/golden/hostile.md");
    testing::check_golden(check_junit(one), "report/golden/one-release.junit.xml");
    testing::check_golden(check_junit(hostile), "report/golden/hostile.junit.xml");
    testing::check_golden(check_sarif(one), "report/golden/one-release.sarif");
    testing::check_golden(check_sarif(hostile), "report/golden/hostile.sarif");
    testing::check_golden(check_json(hostile), "report/golden/hostile.json");
    testing::check_golden(check_html(one), "report/golden/one-release.html");
    testing::check_golden(check_html(all), "report/golden/all-releases.html");
    testing::check_golden(check_html(hostile), "report/golden/hostile.html");
}

TEST_CASE("the CSV report: a line for each finding, and for each preset without", "[report][formats]") {
    for (const CheckReport& report : {sample_report(), sample_report_on_all(), sample_hostile_report()}) {
        std::size_t lines = 1;
        for (const PresetReport& preset : report.presets) {
            for (const compat::TargetCheck& target : preset.check.targets)
                lines += std::max<std::size_t>(target.findings.size(), 1);
        }
        const CsvTable table = read_csv("report", check_csv(report)).value();
        REQUIRE(table.rows.size() == lines);
        for (const CsvRow& row : table.rows) {
            REQUIRE(row.cells.size() == csv_columns.size());
            for (const CsvCell& cell : row.cells) {
                const bool number = cell.text.find_first_not_of("-.0123456789") == std::string::npos;
                if (starts_like_formula(cell.text) && !number) FAIL_CHECK("a formula: " << cell.text);
            }
        }
    }
}

TEST_CASE("Markdown: what comes from files stays text", "[report][formats]") {
    CHECK(markdown_text("Rope Lead") == "Rope Lead");
    CHECK(markdown_text("amp[1].model: 3.10 -> 2.10") == "amp\\[1\\].model: 3.10 -\\> 2.10");
    CHECK(markdown_text("a|b`c`<b>&amp;*x*_y_~~z~~$q$^") ==
          "a\\|b\\`c\\`\\<b\\>\\&amp;\\*x\\*\\_y\\_\\~\\~z\\~\\~\\$q\\$\\^");
    CHECK(markdown_text("http://x www.x") == "http\\://x www\\.x");
    CHECK(markdown_text("@all a@b.c") == "\\@<!-- -->all a\\@<!-- -->b.c");
    CHECK(markdown_text("a\nb\\") == "a\\\\u\\{0A\\}b\\\\");
    std::string row;
    append_markdown_head(row, {"a", ""});
    CHECK(row == "| a | |\n| --- | --- |\n");
}

TEST_CASE("JUnit: the numbers of a suite are those of its cases", "[report][formats]") {
    pugi::xml_document document;
    REQUIRE(document.load_string(check_junit(sample_report_on_all()).c_str()));
    CHECK(document.select_nodes("//testcase").size() == 24);
    CHECK(document.select_nodes("//testcase[@status='altered']/failure[@type='altered']").size() == 3);
    CHECK(document.select_nodes("//testcase[@status='refused']/failure[@type='refused']").size() == 2);
    CHECK(document.select_nodes("//testcase/error[@type='undecided']").size() == 2);
    CHECK(document.select_nodes("//testcase/error[@type='damaged']").size() == 3);
    CHECK(document.select_nodes("//testcase[(@status='intact' or @status='near') and (error or failure)]").empty());

    CheckReport damaged = sample_report();
    damaged.files[0].damage = "the dump ends early";
    REQUIRE(document.load_string(check_junit(damaged).c_str()));
    CHECK(document.select_nodes("//testcase[@name='the file itself']/error[@message='the dump ends early']").size() ==
          1);
    CheckReport nothing = sample_report();
    nothing.presets.clear();
    REQUIRE(document.load_string(check_junit(nothing).c_str()));
    CHECK(document.select_nodes("//testcase[@name='the whole check']/error").size() == 1);
    CHECK(std::string(document.child("testsuites").attribute("errors").value()) == "1");
}

TEST_CASE("SARIF: at most so many results, the gravest; what is left out is told and still counted",
          "[report][formats]") {
    const CheckReport report = sample_report_on_all();
    const json whole = json::parse(check_sarif(report))["runs"][0];
    const std::size_t all = whole["results"].size();
    CHECK(whole["properties"]["results-left-out"] == 0);
    const json cut = json::parse(check_sarif(report, 5))["runs"][0];
    REQUIRE(cut["results"].size() == 5);
    CHECK(cut["properties"]["results-left-out"] == all - 5);
    CHECK(cut["properties"]["targets"] == whole["properties"]["targets"]);
    CHECK(cut["invocations"][0]["toolExecutionNotifications"][0]["message"]["text"] ==
          std::to_string(all - 5) +
              " results are left out: a run holds at most 5. They weigh least; --format json has all.");
    for (std::size_t i = 0; i < 5; ++i) CHECK(cut["results"][i] == whole["results"][i]);
    for (const json& result : cut["results"]) CHECK(result["level"] != "note");
    CHECK(most_sarif_results == 25'000);
}

TEST_CASE("SARIF: every rule has help, and texts cannot be placeholders or links", "[report][formats]") {
    const Json rules = sarif_rules();
    CHECK(rules.size() == 20);
    for (std::size_t i = 0; i < rules.size(); ++i) {
        CHECK(sarif_rule(rules[i]["id"].get<std::string>()) == i);
        for (const char* key : {"shortDescription", "fullDescription", "help"})
            CHECK(rules[i][key]["text"].get<std::string>().size() > 10);
    }
    CHECK(sarif_text("{0} [a](b) \x1B") == "{{0}} [a\\](b) \\u{{1B}}");
    CHECK(file_uri("banks/a b#1%.syx") == "banks/a%20b%231%25.syx");
    CHECK(file_uri("/tmp/\xC3\xA9?.syx") == "file:///tmp/%C3%A9%3F.syx");
    CHECK(file_uri("c:x") == "c%3Ax");
}

}  // namespace downfit::report
