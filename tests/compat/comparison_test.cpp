// Every case file of comparisons: two little sets of dumps, and what is to be told of them.
#include <string>

#include "compat/comparison.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

void run_comparisons(const std::string& name) {
    const ComparisonFile read = read_comparisons("compat/comparisons/" + name + ".case");
    REQUIRE_FALSE(read.comparisons.empty());
    for (const Section& comparison : read.comparisons) {
        std::string head;
        for (const std::string& word : comparison.head) head += " " + word;
        INFO(name << ":" << head);
        CHECK(comparison_text(read.file, comparison) == comparison.text);
    }
}

}  // namespace

TEST_CASE("comparing dumps: values that differ a little, audibly or severely, and what fails for them", "[compat]") {
    run_comparisons("weights");
}

TEST_CASE("comparing dumps: slots that are empty, damaged or missing on one side", "[compat]") {
    run_comparisons("states");
}

TEST_CASE("comparing dumps: what a unit shows after loading, against what was predicted", "[compat]") {
    run_comparisons("loaded");
}

TEST_CASE("comparing dumps: presets that a release refuses, predicted or not", "[compat]") {
    run_comparisons("refused");
}

TEST_CASE("comparing dumps: loading rules that nobody states", "[compat]") {
    run_comparisons("unstated");
}

TEST_CASE("comparing dumps: what a unit held before, where a dump leaves parameters out", "[compat]") {
    run_comparisons("held");
}

TEST_CASE("comparing dumps: more possibilities of what a unit held than are tried", "[compat]") {
    run_comparisons("held-many");
}

TEST_CASE("comparing dumps: facts of the unit that nobody gave", "[compat]") {
    run_comparisons("facts");
}

TEST_CASE("comparing dumps: one stamp of several releases, and none", "[compat]") {
    run_comparisons("shared-stamps");
}

TEST_CASE("comparing dumps: bytes that no parameter explains, and those that change by themselves", "[compat]") {
    run_comparisons("bytes");
    run_comparisons("volatile-record");
}

TEST_CASE("comparing dumps: each preset as the release that saved it has it", "[compat]") {
    run_comparisons("own");
}

TEST_CASE("comparing dumps: the same slot in several files", "[compat]") {
    run_comparisons("files");
}

TEST_CASE("comparing dumps: names that the messages carry", "[compat]") {
    run_comparisons("captured");
}

TEST_CASE("comparing dumps: one device's presets in two layouts", "[compat]") {
    run_comparisons("layouts");
    run_comparisons("layouts-three");
}

TEST_CASE("comparing dumps: values that are the same although they are stored otherwise", "[compat]") {
    run_comparisons("values");
}

TEST_CASE("comparing dumps: sent in one layout and read back in another", "[compat]") {
    run_comparisons("layouts-loaded");
}

TEST_CASE("comparing dumps: releases that describe no parameter of presets", "[compat]") {
    run_comparisons("nothing-described");
}

}  // namespace downfit::testing
