// downfit check as a user runs it: exit statuses, what is said where, files in and out.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/golden.h"
#include "support/hex.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

std::string bytes_of(const std::string& hex) {
    const Bytes bytes = from_hex(hex);
    return {bytes.begin(), bytes.end()};
}

}  // namespace

TEST_CASE("check: 0 where everything is safe", "[cli]") {
    const SmallRig rig;
    const Ran ran = rig.run({"check", rig.dump("room.syx", room_on_1_1), "--on", "1.0"});
    CHECK(ran.status == 0);
    CHECK(ran.errors == "");
    check_golden(without_digests(ran.output), "cli/golden/check-intact.txt");
}

TEST_CASE("check: 1 where something changes", "[cli]") {
    const SmallRig rig;
    const Ran ran =
        rig.run({"check", rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1), "--on", "1.0", "--detail"});
    CHECK(ran.status == 1);
    CHECK(ran.errors == "");
    check_golden(without_digests(ran.output), "cli/golden/check-swapped.txt");
}

TEST_CASE("check: 3 where something cannot be decided", "[cli]") {
    const SmallRig rig;
    const Ran ran = rig.run({"check", rig.dump("hall.syx", hall_on_1_1), "--on", "1.0"});
    CHECK(ran.status == 3);
    CHECK_THAT(ran.output, ContainsSubstring("unknown-choice (1 preset)"));
}

TEST_CASE("check: what changes counts for more than what is undecided, damage for more than both", "[cli]") {
    const SmallRig rig;
    CHECK(rig.run({"check", rig.dump("a.syx", std::string(plate_on_1_1) + hall_on_1_1), "--on", "1.0"}).status == 1);
    const Ran ran =
        rig.run({"check", rig.dump("b.syx", std::string(plate_on_1_1) + hall_on_1_1 + cut_short), "--on", "1.0"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.output, ContainsSubstring("damaged"));
    CHECK_THAT(ran.output, ContainsSubstring("Hall instead of Plate"));
}

TEST_CASE("check: the summary alone", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1);
    const Ran ran = rig.run({"check", bank, "--on", "1.0", "--summary"});
    CHECK(ran.status == 1);
    CHECK(std::count(ran.output.begin(), ran.output.end(), '\n') <= 12);
    CHECK_THAT(ran.output, ContainsSubstring("Worst: slot 2"));
    CHECK(rig.run({"check", bank, "--on", "1.0", "--summary", "--detail"}).status == 2);
    CHECK(rig.run({"check", bank, "--on", "1.0", "--summary", "--format", "json"}).status == 2);
}

TEST_CASE("check: a way back that the maker has closed, and what installing erases", "[cli]") {
    const SmallRig rig;
    rig.write("schemas/wren/1.1.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0",
  "returns-to": "1.1", "erases": ["Empties the\u001b[2J clipboard."] })");
    const std::string bank = rig.dump("bank.syx", room_on_1_1);
    const Ran down = rig.run({"check", bank, "--on", "1.0", "--summary"});
    CHECK_THAT(down.output,
               ContainsSubstring("No way back: a unit on 1.1 goes back to 1.1 at the oldest, not to 1.0."));
    const Ran there = rig.run({"check", bank, "--on", "1.1"});
    CHECK_THAT(there.output, ContainsSubstring("- Installing 1.1: Empties the\\u{1B}[2J clipboard."));
    CHECK_THAT(there.output, !ContainsSubstring("No way back"));
    const auto json = nlohmann::json::parse(rig.run({"check", bank, "--on", "1.0", "--format", "json"}).output);
    CHECK(json["installing"].dump() ==
          R"([{"closed-from":[{"from":"1.1","oldest":"1.1"}],"erases":[],"release":"1.0"}])");
}

TEST_CASE("check: the summary of the demo", "[cli]") {
    const SmallRig rig;
    const std::string demo = (project_folder() / "demo" / "dumps").string();
    const std::string schemas = (project_folder() / "schemas").string();
    const Ran banks = rig.run({"check", demo + "/bank-a.syx", demo + "/bank-b.syx", demo + "/bank-c.syx", "--on",
                               "2.10", "--schemas", schemas, "--summary"});
    CHECK(std::count(banks.output.begin(), banks.output.end(), '\n') <= 12);
    CHECK_THAT(banks.output, ContainsSubstring("of bank-b.syx: "));
    const Ran far = rig.run({"check", demo + "/bank-d.syx", "--on", "1.10", "--schemas", schemas, "--summary"});
    CHECK_THAT(far.output,
               ContainsSubstring("No way back: units on 3.00 and 3.10 go back to 2.10 at the oldest, not to 1.10."));
}

TEST_CASE("check: the rule is named as the schema states it", "[cli]") {
    for (const std::string action : {"first", "reset"}) {
        CAPTURE(action);
        const SmallRig rig;
        rig.write("schemas/wren/1.0.json",
                  R"({ "format": "downfit release 1", "device": "wren", "release": "1.0",
  "rules": { "unknown-choice": ")" +
                      action + R"(" },
  "parameters": { "mode": { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
        const Ran ran = rig.run({"check", rig.dump("hall.syx", hall_on_1_1), "--on", "1.0", "--detail"});
        CHECK(ran.status == 1);
        CHECK_THAT(ran.output, ContainsSubstring("unknown-choice: " + action));
    }
}

TEST_CASE("check: several releases, and all of them", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1);
    const Ran all = rig.run({"check", bank, "--on", "all"});
    CHECK(all.status == 1);
    check_golden(without_digests(all.output), "cli/golden/check-all.txt");
    CHECK(rig.run({"check", bank, "--on", "1.1, 1.0"}).status == 1);
    CHECK(rig.run({"check", bank, "--on", "1.1"}).status == 0);
}

TEST_CASE("check: slots and names choose presets, with all details", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1 + hall_on_1_1);
    CHECK(rig.run({"check", bank, "--on", "1.0", "--slot", "1"}).status == 0);
    const Ran second = rig.run({"check", bank, "--on", "1.0", "--slot", "2"});
    CHECK(second.status == 1);
    CHECK_THAT(second.output, ContainsSubstring("another choice has this number"));
    CHECK(rig.run({"check", bank, "--on", "1.0", "--slot", "1,3-9"}).status == 3);
    const Ran none = rig.run({"check", bank, "--on", "1.0", "--slot", "50"});
    CHECK(none.status == 2);
    CHECK_THAT(none.output, ContainsSubstring("leaves none of 3 presets"));
    const Ran wrong = rig.run({"check", bank, "--on", "1.0", "--slot", "5-2"});
    CHECK(wrong.status == 2);
    CHECK(wrong.errors ==
          "--slot cannot be \"5-2\"\n    expected: slots as the unit shows them, such as 3 or 1-8,12\n");
}

TEST_CASE("check: what is wrong with the call is told, with what may have been meant", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", room_on_1_1);
    struct Row {
        std::vector<std::string> arguments;
        std::string errors;
    };
    const std::vector<Row> rows{
        {{"check", "--on", "1.0"}, "no dump is named\n    downfit check DUMP... --on RELEASE[,RELEASE...]|all\n"},
        {{"check", bank}, "no release is named\n    --on RELEASE, or --on all\n"},
        {{"check", bank, "--on", "1.00"},
         "wren has no release \"1.00\"\n    expected: one of 1.0, 1.1\n    did you mean \"1.0\"?\n"},
        {{"check", bank, "--on", "1.0", "--saved-on", "x"},
         "wren has no release \"x\"\n    expected: one of 1.0, 1.1\n"},
        {{"check", "none.syx", "--on", "1.0"}, "none.syx: there is no such file\n"},
        {{"check", "schemas", "--on", "1.0"},
         "schemas: holds no dump, but 3 JSON texts\n    expected: dumps of presets\n"},
        {{"check", bank, "--on", "1.0", "--schemas", "nowhere"},
         "nowhere: there is no such folder of schema files\n    --schemas DIR or $DOWNFIT_SCHEMAS says where they "
         "are\n"},
        {{"check", bank, "--on", "1.0", "--device", "wrn"},
         "schemas: no device is called \"wrn\"\n    did you mean \"wren\"?\n"},
        {{"check", bank, "--on", "1.0", "--format", "jsn"},
         "--format cannot be \"jsn\"\n    expected: one of text, json, csv, markdown, junit, sarif, html\n    did you "
         "mean "
         "\"json\"?\n"},
        {{"contents", bank, "--format", "csv"}, "--format cannot be \"csv\"\n    expected: one of text, json\n"},
        {{"check", bank, "--on", "1.0", "--format", "csv", "--summary"},
         "--summary goes with a text report, and without --detail\n    leave one of them out\n"},
        {{"check", bank, "--on", "1.0", "--detial"},
         "there is no option --detial of check\n    did you mean \"--detail\"?\n"},
        {{"chekc", bank}, "there is no command \"chekc\"\n    did you mean \"check\"?\n"},
    };
    for (const Row& row : rows) {
        const Ran ran = rig.run(row.arguments);
        CAPTURE(row.errors);
        CHECK(ran.status == 2);
        CHECK(ran.output == "");
        CHECK(ran.errors == row.errors);
    }
}

TEST_CASE("check: a schema that is wrong is told with its place", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", room_on_1_1);
    rig.write(
        "schemas/wren/1.1.json",
        "{ \"format\": \"downfit release 1\", \"device\": \"wren\", \"release\": \"1.1\", \"extend\": \"1.0\" }\n");
    const Ran ran = rig.run({"check", bank, "--on", "1.0"});
    CHECK(ran.status == 2);
    CHECK(ran.output == "");
    CHECK_THAT(ran.errors, ContainsSubstring("1.1.json:1:"));
    CHECK_THAT(ran.errors, ContainsSubstring("did you mean \"extends\"?"));
}

TEST_CASE("check: a device without release files tells what was saved later, and decides nothing", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", room_on_1_1);
    std::filesystem::remove(rig.path("schemas/wren/1.0.json"));
    std::filesystem::remove(rig.path("schemas/wren/1.1.json"));
    const Ran ran = rig.run({"check", bank, "--on", "1.0"});
    CHECK(ran.status == 3);
    CHECK_THAT(ran.output, ContainsSubstring("saved on 1.1, later than 1.0"));
}

TEST_CASE("check: a dump with no presets at all is the wrong one; one with only empty slots is not", "[cli]") {
    const SmallRig rig;
    std::string device = rig.read("schemas/wren/device.json");
    device.insert(
        device.find("\"preset\": {"),
        R"("settings": { "holds": "unit-settings", "messages": { "all": { "bytes": "F0 7D 0A {data...} F7" } },
      "preset": ["all"], "body": { "size": 2 } }, )");
    device.insert(device.find("\"body\": { \"size\": 2 } } },\n"), R"("empty": { "at": 0, "bytes": "7F 7F" }, )");
    rig.write("schemas/wren/device.json", device);
    const Ran settings = rig.run({"check", rig.dump("settings.syx", "F0 7D 0A 00 00 F7"), "--on", "1.0"});
    CHECK(settings.errors == "");
    CHECK(settings.status == 2);
    CHECK_THAT(settings.output, ContainsSubstring("settings.syx holds no presets but: unit settings."));
    const Ran empty = rig.run({"check", rig.dump("empty.syx", "F0 7D 09 00 02 7F 7F F7"), "--on", "1.0"});
    CHECK(empty.errors == "");
    CHECK(empty.status == 0);
    CHECK_THAT(empty.output, ContainsSubstring("Nothing to judge."));
}

TEST_CASE("check: a file of something else is named", "[cli]") {
    const SmallRig rig;
    rig.write("text.syx", "no dump at all");
    const Ran ran = rig.run({"check", "text.syx", "--on", "1.0"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.errors, ContainsSubstring("text.syx: is a text and no dump of wren"));
}

TEST_CASE("check: reads standard input", "[cli]") {
    const SmallRig rig;
    const Ran ran = rig.run({"check", "-", "--on", "1.0"}, bytes_of(plate_on_1_1));
    CHECK(ran.status == 1);
    CHECK_THAT(ran.output, ContainsSubstring("standard input: 1 preset"));
}

TEST_CASE("check: a report goes to a file, whole, and replaces nothing unasked", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", room_on_1_1);
    const std::vector<std::string> call{"check", bank, "--on", "1.0", "--output", "report.txt"};
    const Ran first = rig.run(call);
    CHECK(first.status == 0);
    CHECK(first.output == "");
    CHECK(rig.read("report.txt") == rig.run({"check", bank, "--on", "1.0"}).output);
    rig.write("report.txt", "mine");
    const Ran again = rig.run(call);
    CHECK(again.status == 2);
    CHECK(again.errors == "report.txt: is there already\n    --force replaces it\n");
    CHECK(rig.read("report.txt") == "mine");
    CHECK(rig.run({"check", bank, "--on", "1.0", "--output", "report.txt", "--force"}).status == 0);
    CHECK(rig.read("report.txt") != "mine");
    const Ran input = rig.run({"check", bank, "--on", "1.0", "--output", bank, "--force"});
    CHECK(input.status == 2);
    CHECK_THAT(input.errors, ContainsSubstring("Downfit never changes those"));
    CHECK(rig.run({"check", bank, "--on", "1.0", "--output", "no/such/folder/x"}).status == 2);
    CHECK(rig.run({"check", bank, "--on", "1.0", "--output", "/dev/null", "--force"}).status == 2);
}

TEST_CASE("check: output that cannot be written is a failure, never a fit", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", room_on_1_1);
    const Ran ran =
        run_program("/bin/sh", {"-c", "\"$0\" check " + bank + " --on 1.0 > /dev/full", downfit_program().string()},
                    {{}, {}, rig.path("")});
    CHECK(ran.status == 70);
    CHECK(ran.errors == "downfit: the output could not be written\n");
}

TEST_CASE("check: colours only where they are asked for", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", plate_on_1_1);
    CHECK(rig.run({"check", bank, "--on", "1.0"}).output.find('\x1B') == std::string::npos);
    CHECK(rig.run({"check", bank, "--on", "1.0", "--color", "always"}).output.find('\x1B') != std::string::npos);
}

TEST_CASE("check: JSON of equal inputs is equal, and says what it is", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1);
    const Ran ran = rig.run({"check", bank, "--on", "1.0", "--format", "json"});
    CHECK(ran.status == 1);
    CHECK(ran.output == rig.run({"check", bank, "--on", "1.0", "--format", "json"}).output);
    const auto json = nlohmann::json::parse(ran.output);
    CHECK(json["format"] == "downfit check 1");
    const auto& finding = json["presets"][1]["targets"][0]["findings"][0];
    CHECK(finding["parameter"] == "mode");
    CHECK(finding["outcome"] == "swapped");
    CHECK(finding["silent"] == true);
    CHECK(finding["saved"] == nlohmann::json({{"stored", "1"}, {"value", "Plate"}, {"byte", 1}, {"offset", 14}}));
    CHECK(finding["loaded"]["value"] == "Hall");
}

}  // namespace downfit::testing
