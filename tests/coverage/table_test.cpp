// The table's own watch: what a table with something missing or too much is told.
#include "coverage/table.h"
#include "support/catch.h"

using namespace downfit::testing;

namespace {

Table small_table(const std::string& entries) {
    Table table;
    table.axes = read_axes(R"({ "ways": [ { "way": "position", "title": "by place" },
                                          { "way": "name", "title": "by path", "waiting": "not read yet" } ],
        "areas": [ { "title": "All", "changes": [ { "change": "coarser", "title": "Coarser steps", "keys": ["parameter.step"],
                                                    "asks": { "position": ["off-step"] } } ] } ],
        "keys-without-cells": { "parameter.title": "for people" } })");
    table.files.emplace("coarser", read_change("coarser", R"(# Steps.
== preset breaking 2.0
@0 2C
== check clean
intact
)" + entries));
    return table;
}

const std::string rounds = "== cell position off-step round\nnear\nmix rounded slight sounding: 44 -> 40\n";
const std::string keeps = "== cell position off-step keep\nintact\n";
const std::string unstated = "== cell position off-step unstated\nnear\n";

/// Problems of a small table, without those that it has by being small.
std::vector<std::string> problems(const Table& table,
                                  const std::set<std::string>& keys = {"parameter.step", "parameter.title"}) {
    std::vector<std::string> found;
    for (const std::string& problem : problems_of(table, keys)) {
        if (!problem.starts_with("no cell shows ") && !problem.starts_with("no change asks for the rule ")) {
            found.push_back(problem);
        }
    }
    return found;
}

using Told = std::vector<std::string>;

}  // namespace

TEST_CASE("a whole table has no problem") {
    CHECK(problems(small_table(keeps + rounds + unstated)) == Told{});
}

TEST_CASE("an empty cell is told by the name of its test") {
    CHECK(problems(small_table(keeps + unstated)) == Told{"empty cell coarser/position/off-step=round"});
}

TEST_CASE("an entry that matches no cell is told") {
    const std::string beside = "== cell position off-step wrap\nnear\n";
    CHECK(problems(small_table(keeps + rounds + unstated + beside)) == Told{"coarser: no cell position off-step wrap"});
    const std::string waiting = "== cell name off-step keep\nnear\n";
    CHECK(problems(small_table(keeps + rounds + unstated + waiting)) == Told{"coarser: no cell name off-step keep"});
}

TEST_CASE("a cell that is filled twice, or with nothing, is told") {
    CHECK(problems(small_table(keeps + rounds + unstated + rounds)) ==
          Told{"filled twice: coarser/position/off-step=round"});
    CHECK(problems(small_table(keeps + rounds + "== cell position off-step unstated\n")) ==
          Told{"coarser: position off-step unstated expects nothing"});
}

TEST_CASE("a cell may be held by a case file elsewhere, if it is there") {
    const std::string held = "== held position off-step round\n";
    const Table table = small_table(keeps + unstated + held + "outcomes/rounded.case breaking 1.0\n");
    CHECK(problems(table) == Told{});
    CHECK(expected_of(table.files.at("coarser").entries.back()) == "near\nmix rounded slight sounding: 44 % -> 40 %\n");
    CHECK(problems(small_table(keeps + unstated + held + "outcomes/rounded.case missing 1.0\n")) ==
          Told{"coarser: position off-step round names a test that does not exist: outcomes/rounded.case missing 1.0"});
    CHECK(
        problems(small_table(keeps + unstated + held + "outcomes/missing.case breaking 1.0\n")) ==
        Told{"coarser: position off-step round names a test that does not exist: outcomes/missing.case breaking 1.0"});
}

TEST_CASE("a change without a file, a file without a change, and keys without a change are told") {
    Table table = small_table(keeps + rounds + unstated);
    table.files.emplace("finer", ChangeFile{});
    CHECK(problems(table) == Told{"no change finer for its file"});
    table.files.clear();
    CHECK(problems(table) == Told{"coarser has no file: all its cells are empty"});
    CHECK(problems(small_table(keeps + rounds + unstated), {"parameter.step", "parameter.title", "parameter.new"}) ==
          Told{"no change is about the key parameter.new"});
    CHECK(problems(small_table(keeps + rounds + unstated), {"parameter.step"}) ==
          Told{"the language has no key parameter.title"});
}

TEST_CASE("a way without cells needs a reason") {
    Table table = small_table(keeps + rounds + unstated);
    table.axes.ways.push_back({"tag", "by number", ""});
    CHECK(problems(table) == Told{"coarser: by tag it has either cells or a reason why it is impossible"});
    table.axes.areas.front().changes.front().impossible["tag"] = "there are no records";
    CHECK(problems(table) == Told{});
    table.axes.ways[1].waiting.clear();
    CHECK(problems(table) == Told{"coarser: by name it has either cells or a reason why it is impossible"});
}

TEST_CASE("the page shows an empty cell as empty") {
    CHECK_THAT(page_of(small_table(keeps + unstated)),
               ContainsSubstring("| position | `off-step` | `round` | **empty** | |"));
}
