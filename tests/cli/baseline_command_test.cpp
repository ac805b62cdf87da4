// downfit check --baseline as a user runs it.
#include <nlohmann/json.hpp>
#include <string>

#include "cli/small_rig.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

/// Checks bank.syx on 1.0 and keeps the JSON report as old.json.
void keep_report(const SmallRig& rig, const std::string& dump) {
    (void)rig.dump("bank.syx", dump);
    const Ran ran = rig.run({"check", "bank.syx", "--on", "1.0", "--format", "json"});
    REQUIRE(ran.status != 2);
    rig.write("old.json", ran.output);
}

Ran since(const SmallRig& rig, std::vector<std::string> more = {}) {
    more.insert(more.begin(), {"check", "bank.syx", "--on", "1.0", "--width", "200", "--baseline", "old.json"});
    return rig.run(more);
}

/// Another preset with Plate, in slot 5.
constexpr const char* another_plate = "F0 7D 09 04 02 50 01 F7\n";

}  // namespace

TEST_CASE("baseline: what was known does not fail, and is told all the same", "[cli]") {
    const SmallRig rig;
    keep_report(rig, std::string(room_on_1_1) + plate_on_1_1);
    const Ran ran = since(rig);
    CHECK(ran.status == 0);
    CHECK_THAT(ran.output,
               ContainsSubstring("Since old.json: 0 findings are new, 0 gone; only what is new fails. Presets "
                                 "and schemas are the same."));
    CHECK_THAT(ran.output, ContainsSubstring("1 changes severely"));
    CHECK_THAT(ran.output, ContainsSubstring("MONITORS DOWN"));
}

TEST_CASE("baseline: a preset that came since fails, and the dump is named as changed", "[cli]") {
    const SmallRig rig;
    keep_report(rig, std::string(room_on_1_1) + plate_on_1_1);
    (void)rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1 + another_plate);
    const Ran ran = since(rig);
    CHECK(ran.status == 1);
    CHECK_THAT(ran.output,
               ContainsSubstring("Since old.json: 1 finding is new, 0 gone; only what is new fails. Changed "
                                 "meanwhile: dump bank.syx."));
    (void)rig.dump("bank.syx", room_on_1_1);
    CHECK(since(rig).status == 0);
}

TEST_CASE("baseline: what became worse by a changed schema fails, and the schema is named", "[cli]") {
    const SmallRig rig;
    keep_report(rig, room_on_1_1);
    rig.write("schemas/wren/1.0.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.0", "parameters": {
    "volume": { "at": 0, "unit": "dB", "scale": { "stored": [0, 100], "value": [-80, 20] }, "range": [-80, -4], "role": "level" },
    "mode":   { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
    rig.write("schemas/wren/1.1.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0",
  "parameters": { "volume": { "range": [-80, 20] }, "mode": { "choices": { "insert": { "Plate": 1 } } } } })");
    const Ran ran = since(rig, {"--format", "json"});
    CHECK(ran.status == 1);
    const auto json = nlohmann::json::parse(ran.output);
    CHECK(json["baseline"]["new"] == 1);
    CHECK(json["baseline"]["changed"].dump() ==
          R"({"dumps":[],"policy":false,"program":false,"schemas":["release 1.0","release 1.1"]})");
    CHECK(json["presets"][0]["targets"][0]["findings"][0]["new"] == true);
    // With that report as the baseline it is known; once mended, it is gone.
    rig.write("old.json", ran.output);
    CHECK(since(rig).status == 0);
    rig.write("schemas/wren/1.1.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0" })");
    const Ran mended = since(rig);
    CHECK(mended.status == 0);
    CHECK_THAT(mended.output, ContainsSubstring("0 findings are new, 1 gone"));
}

TEST_CASE("baseline: heavier, or with a caution that it did not have, is new", "[cli]") {
    const SmallRig rig;
    keep_report(rig, plate_on_1_1);
    const std::string report = rig.read("old.json");
    const auto with = [&](const std::string& find, const std::string& put) {
        std::string changed = report;
        const std::size_t at = changed.find(find);
        REQUIRE(at != std::string::npos);
        changed.replace(at, find.size(), put);
        rig.write("old.json", changed);
        return since(rig).status;
    };
    CHECK(with("\"weight\":\"severe\",\"best\"", "\"weight\":\"audible\",\"best\"") == 1);
    CHECK(with("\"kind\": \"level-unknown\"", "\"kind\": \"feedback\"") == 1);
    CHECK(with("\"release\": \"1.0\"", "\"release\": \"1.0\"") == 0);
}

TEST_CASE("baseline: undecided and refused before is nothing new; damage always is", "[cli]") {
    const SmallRig rig;
    keep_report(rig, hall_on_1_1);
    CHECK(since(rig).status == 0);
    (void)rig.dump("bank.syx", std::string(hall_on_1_1) + cut_short);
    CHECK(since(rig).status == 2);
    (void)rig.dump("bank.syx", std::string(hall_on_1_1) + "F0 7D 09 05 02 50 02 F7");
    CHECK(since(rig).status == 3);

    const SmallRig strict;
    strict.write("schemas/wren/1.0.json", R"({ "format": "downfit release 1", "device": "wren", "release": "1.0",
  "accepts": [{ "slot": { "above": 90 } }],
  "parameters": { "mode": { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
    strict.write(
        "schemas/wren/1.1.json",
        R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0", "accepts": [] })");
    keep_report(strict, room_on_1_1);
    CHECK(since(strict).status == 0);
    CHECK_THAT(since(strict).output, ContainsSubstring("refused"));
    (void)strict.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1);
    CHECK(since(strict).status == 1);
}

TEST_CASE("baseline: with a policy", "[cli]") {
    const SmallRig rig;
    keep_report(rig, plate_on_1_1);
    (void)rig.dump("bank.syx", std::string(plate_on_1_1) + another_plate);
    rig.write("policy.json", R"({ "format": "downfit policy 1", "fails": "refused" })");
    const Ran ran = since(rig, {"--policy", "policy.json"});
    CHECK(ran.status == 0);
    CHECK_THAT(ran.output, ContainsSubstring("the policy"));
    CHECK(since(rig).status == 1);
}

TEST_CASE("baseline: a file that is no such report is an error", "[cli]") {
    const SmallRig rig;
    (void)rig.dump("bank.syx", room_on_1_1);
    const auto errors = [&](const std::string& text) {
        rig.write("old.json", text);
        const Ran ran = since(rig);
        CHECK(ran.status == 2);
        CHECK(ran.output == "");
        return ran.errors;
    };
    const std::string expected = "\n    expected: a report written by downfit check --format json\n";
    CHECK(errors("{\n  \"format\": }") == "old.json:2:13: this is no JSON from here on" + expected);
    CHECK(errors("[1]") == "old.json: the file is no report" + expected);
    CHECK(errors(R"({"format": "downfit contents 1"})") ==
          "old.json: its format is \"downfit contents 1\", not \"downfit check 1\"" + expected);
    CHECK(errors(R"({"format": "downfit check 1", "device": 3})") ==
          "old.json: the report is not whole, or from a version before baselines" + expected);
    CHECK(errors("") == "old.json:1:1: this is no JSON from here on" + expected);
    keep_report(rig, room_on_1_1);
    std::string other = rig.read("old.json");
    other.replace(other.find("\"device\": \"wren\""), 16, "\"device\": \"robin\"");
    CHECK(
        errors(other) ==
        "old.json: the report is on \"robin\", the dumps are of \"wren\"\n    expected: a report on the same device\n");
}

}  // namespace downfit::testing
