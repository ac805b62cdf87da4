// Every case file under tests/outcomes, tests/rules and tests/shapes, and the catalogue against the folder.
#include <filesystem>
#include <set>
#include <vector>

#include "compat/case_file.h"
#include "compat/outcome.h"
#include "support/catch.h"
#include "support/paths.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

std::vector<std::filesystem::path> case_files(const std::string& folder) {
    std::set<std::filesystem::path> sorted;
    if (std::filesystem::exists(in_tests(folder))) {
        for (const auto& entry : std::filesystem::directory_iterator(in_tests(folder))) {
            if (entry.path().extension() == ".case")
                sorted.insert(std::filesystem::path(folder) / entry.path().filename());
        }
    }
    return {sorted.begin(), sorted.end()};
}

void run_cases(const std::string& folder) {
    for (const auto& path : case_files(folder)) {
        const CaseFile file = read_case(path);
        REQUIRE_FALSE(file.checks.empty());
        for (const auto& [name, bytes] : file.dumps) {
            INFO(path.string() << ": " << name);
            CHECK(writes_back(file, bytes));
        }
        for (const ExpectedCheck& values : file.values) {
            INFO(path.string() << ": " << values.dump << " as " << values.release);
            REQUIRE(file.dumps.contains(values.dump));
            CHECK(values_compact(file, file.dumps.at(values.dump), values.release) == values.expected);
        }
        for (const ExpectedCheck& check : file.checks) {
            INFO(path.string() << ": " << check.dump << " on " << check.release);
            REQUIRE(file.dumps.contains(check.dump));
            CHECK(check_compact(file, file.dumps.at(check.dump), check.release) == check.expected);
        }
        for (const ExpectedCheck& told : file.told) {
            INFO(path.string() << ": told of " << told.dump << " on " << told.release);
            REQUIRE(file.dumps.contains(told.dump));
            CHECK(check_told(file, file.dumps.at(told.dump), told.release) == told.expected);
        }
        for (const ExpectedCheck& floors : file.floors) {
            INFO(path.string() << ": floors of " << floors.dump);
            REQUIRE(file.dumps.contains(floors.dump));
            CHECK(floors_compact(file, file.dumps.at(floors.dump)) == floors.expected);
        }
    }
}

}  // namespace

TEST_CASE("each outcome comes out as its case file says") {
    run_cases("outcomes");
}

TEST_CASE("what loading rules say, stated or not, comes out as its case file says") {
    run_cases("rules");
}

TEST_CASE("each shape of dump decodes, loads and writes back as its case file says") {
    run_cases("shapes");
}

TEST_CASE("every outcome of the catalogue has a case file that shows it, and every file an outcome") {
    std::set<std::string> files;
    for (const auto& path : case_files("outcomes")) files.insert(path.stem().string());
    std::set<std::string> names;
    for (const compat::OutcomeRow& row : compat::outcome_table()) {
        names.insert(std::string(row.name));
        CHECK_FALSE(row.title.empty());
        CHECK_FALSE(row.help.empty());
        CHECK_FALSE(row.example.empty());
        CHECK_FALSE(row.advice.empty());
    }
    CHECK(files == names);
    for (const auto& path : case_files("outcomes")) {
        const CaseFile file = read_case(path);
        bool shown = false, clean = false;
        for (const ExpectedCheck& check : file.checks) {
            const bool here = check.expected.find(" " + path.stem().string() + " ") != std::string::npos;
            (here ? shown : clean) = true;
        }
        INFO(path.string());
        CHECK((shown || path.stem() == "kept"));
        CHECK(clean);
    }
}
