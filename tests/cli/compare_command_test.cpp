// downfit compare as a user runs it: on a device so small that every difference was worked out by hand, and on the
// demo's dumps. tests/demo/read_back_test.py holds it against units that the demo's generator plays.
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/demo_files.h"
#include "support/file.h"
#include "support/golden.h"
#include "support/hex.h"
#include "support/paths.h"
#include "support/temp_dir.h"

namespace downfit::testing {

namespace {

using Json = nlohmann::json;

/// The Wren with three choices on 1.0, of which the middle one is its default, and four on 1.1: what becomes of the
/// fourth on 1.0 is a matter of rules.
struct Unit : SmallRig {
    explicit Unit(const std::string& rules = R"("unknown-choice": "clamp")", const std::string& own = "") {
        write("schemas/wren/device.json", R"({
  "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [{"release": "1.0", "stamp": 1}, {"release": "1.1", "stamp": 2}],
  "layouts": { "preset": {
      "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } },
      "preset": ["preset"], "body": { "size": 2 } } },
  "rules": { "out-of-range": "clamp", "newer-stamp": "load" }
})");
        write("schemas/wren/1.0.json", R"({ "format": "downfit release 1", "device": "wren", "release": "1.0",
  "rules": { )" + rules + R"( },
  "parameters": {
    "volume": { "at": 0, "unit": "dB", "scale": { "stored": [0, 100], "value": [-80, 20] }, "range": [-80, 10],
                "role": "level" },
    "mode":   { "at": 1, "choices": ["Room", "Hall", "Spring"], "default": "Hall", "role": "model")" +
                                           own + R"( } } })");
        write("schemas/wren/1.1.json", R"({ "format": "downfit release 1", "device": "wren", "release": "1.1",
  "extends": "1.0", "parameters": { "volume": { "range": [-80, 20] }, "mode": { "choices": { "add": { "Plate": 3 } } } } })");
    }

    /// `loaded` by a unit on 1.0 as it shows it, against what was sent.
    [[nodiscard]] Json loaded(const std::string& sent, const std::string& shown, int status) const {
        dump("sent.syx", sent);
        dump("back.syx", shown);
        const Ran ran = run({"compare", "sent.syx", "back.syx", "--read-back", "loaded", "--format", "json"});
        CAPTURE(ran.errors, ran.output);
        REQUIRE(ran.status == status);
        return Json::parse(ran.output);
    }
};

// slot, stamp, volume, mode
constexpr const char* plate_sent = "F0 7D 09 00 02 50 03 F7\n";
constexpr const char* spring_shown = "F0 7D 09 00 01 50 02 F7\n";  // clamp
constexpr const char* hall_shown = "F0 7D 09 00 01 50 01 F7\n";    // reset
constexpr const char* room_shown = "F0 7D 09 00 01 50 00 F7\n";    // first
constexpr const char* plate_shown = "F0 7D 09 00 01 50 03 F7\n";   // keep

}  // namespace

TEST_CASE("compare: the same dump twice is the same sound", "[cli]") {
    const SmallRig rig;
    rig.dump("a.syx", std::string(room_on_1_1) + plate_on_1_1);
    rig.dump("b.syx", std::string(room_on_1_1) + plate_on_1_1);
    const Ran ran = rig.run({"compare", "a.syx", "b.syx"});
    CHECK(ran.status == 0);
    CHECK(ran.errors == "");
    check_golden(ran.output, "cli/golden/compare-same.txt");
}

TEST_CASE("compare: what differs, what is on one side only, and what the exit status is", "[cli]") {
    const SmallRig rig;
    rig.dump("a.syx", std::string(room_on_1_1) + plate_on_1_1 + hall_on_1_1);
    rig.dump("b.syx",
             "F0 7D 09 00 02 40 00 F7\n"    // 16 dB quieter
             "F0 7D 09 01 02 50 02 F7\n"    // another model
             "F0 7D 09 04 02 50 00 F7\n");  // slot 3 is not there, slot 5 is new
    const Ran ran = rig.run({"compare", "a.syx", "b.syx"});
    CHECK(ran.status == 1);
    check_golden(ran.output, "cli/golden/compare-different.txt");
    const Ran json = rig.run({"compare", "a.syx", "b.syx", "--format", "json"});
    const Json report = Json::parse(json.output);
    CHECK(report.at("summary") == Json{{"pairs", 4},
                                       {"left-out", 0},
                                       {"same", 0},
                                       {"near", 0},
                                       {"damaged", 0},
                                       {"undecided", 0},
                                       {"only-in-b", 1},
                                       {"only-in-a", 1},
                                       {"different", 2},
                                       {"same-bytes", 0},
                                       {"failing", 4}});
    const Json& quieter = report.at("pairs").at(0).at("sound").at("findings").at(0);
    CHECK(quieter.at("parameter") == "volume");
    CHECK(quieter.at("difference") == "value");
    CHECK(quieter.at("weight") == "audible");
    CHECK(quieter.at("a") == Json{{"stored", "80"}, {"value", "0 dB"}, {"byte", 0}, {"offset", 5}});
    CHECK(quieter.at("b") == Json{{"stored", "64"}, {"value", "-16 dB"}, {"byte", 0}, {"offset", 5}});
    // After a restore what else the unit holds is no fault.
    rig.dump("more.syx", std::string(room_on_1_1) + plate_on_1_1 + hall_on_1_1 + "F0 7D 09 04 02 50 00 F7\n");
    CHECK(rig.run({"compare", "a.syx", "more.syx", "--read-back", "stored"}).status == 0);
    CHECK(rig.run({"compare", "a.syx", "more.syx"}).status == 1);
    CHECK(rig.run({"compare", "more.syx", "a.syx", "--read-back", "stored"}).status == 1);
}

TEST_CASE("compare: tolerances of a policy, and none with --exact", "[cli]") {
    const SmallRig rig;
    rig.dump("a.syx", "F0 7D 09 00 02 50 00 F7\n");
    rig.dump("b.syx", "F0 7D 09 00 02 4E 00 F7\n");  // 2 dB quieter: slight
    rig.write("strict.json", R"({ "format": "downfit policy 1", "fails": "near", "tolerances": { "level": 1 } })");
    rig.write("loose.json", R"({ "format": "downfit policy 1", "fails": "near", "tolerances": { "level": 2 } })");
    rig.write("tight.json", R"({ "format": "downfit policy 1", "tolerances": { "level": 0.5 } })");
    CHECK(rig.run({"compare", "a.syx", "b.syx"}).status == 0);
    CHECK(rig.run({"compare", "a.syx", "b.syx", "--policy", "strict.json"}).status == 1);
    CHECK(rig.run({"compare", "a.syx", "b.syx", "--policy", "loose.json"}).status == 0);
    CHECK(rig.run({"compare", "a.syx", "b.syx", "--policy", "tight.json"}).status == 1);
    CHECK(rig.run({"compare", "a.syx", "b.syx", "--policy", "loose.json", "--exact"}).status == 1);
    CHECK(rig.run({"compare", "a.syx", "a.syx", "--exact"}).status == 0);
}

TEST_CASE("compare: the same number is another thing on another release", "[cli]") {
    const SmallRig rig;
    rig.dump("a.syx", plate_on_1_1);                 // number 1 is Plate on 1.1 …
    rig.dump("b.syx", "F0 7D 09 01 01 50 01 F7\n");  // … and Hall on 1.0
    const Json report = Json::parse(rig.run({"compare", "a.syx", "b.syx", "--format", "json"}).output);
    const Json& finding = report.at("pairs").at(0).at("sound").at("findings").at(0);
    CHECK(finding.at("a").at("value") == "Plate");
    CHECK(finding.at("b").at("value") == "Hall");
    CHECK(finding.at("weight") == "severe");
    rig.dump("c.syx", "F0 7D 09 01 01 50 01 F7\n");
    rig.dump("d.syx", "F0 7D 09 01 02 50 02 F7\n");  // Hall on 1.1
    CHECK(rig.run({"compare", "c.syx", "d.syx"}).status == 0);
}

TEST_CASE("compare: presets that moved are found by name", "[cli]") {
    const SmallRig rig;
    rig.write("schemas/wren/device.json", R"({
  "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [{"release": "1.0", "stamp": 1}, {"release": "1.1", "stamp": 2}],
  "layouts": { "preset": {
      "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } },
      "preset": ["preset"], "body": { "size": 6 } } },
  "rules": { "out-of-range": "clamp", "newer-stamp": "load", "unknown-choice": "clamp" }
})");
    rig.write("schemas/wren/1.0.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.0", "parameters": {
    "volume": { "at": 0 }, "mode": { "at": 1, "choices": ["Room", "Hall"] },
    "name": { "at": 2, "as": "text", "length": 4, "role": "name" } } })");
    rig.dump("a.syx", "F0 7D 09 00 02 50 00 41 42 42 20 F7\nF0 7D 09 01 02 10 00 46 6C 6F 77 F7\n");  // Ebb, Flow
    rig.dump("b.syx", "F0 7D 09 00 02 10 00 46 6C 6F 77 F7\nF0 7D 09 01 02 50 00 41 42 42 20 F7\n");
    const Ran by_slot = rig.run({"compare", "a.syx", "b.syx"});
    CHECK(by_slot.status == 1);
    CHECK_THAT(by_slot.output, ContainsSubstring("2 presets have other names"));
    const Ran by_name = rig.run({"compare", "a.syx", "b.syx", "--match", "name"});
    CHECK(by_name.status == 0);
    CHECK_THAT(by_name.output, ContainsSubstring("Matched by name."));
}

TEST_CASE("compare: a preset that was loaded as predicted", "[cli]") {
    const Unit unit;
    const Json report = unit.loaded(plate_sent, spring_shown, 0);
    CHECK(report.at("request").at("on") == "1.0");
    CHECK(report.at("pairs").at(0).at("result") == "same");
    CHECK(report.at("pairs").at(0).at("prediction").at("findings") == Json::array());
    // What is heard is another matter: Spring is not Plate.
    CHECK(report.at("pairs").at(0).at("sound").at("result") == "different");
    CHECK(report.at("contradicted-rules") == Json::array());
}

TEST_CASE("compare: the loading rule that a unit contradicts is named, and what to write instead", "[cli]") {
    const Unit unit;
    unit.dump("sent.syx", plate_sent);
    unit.dump("back.syx", room_shown);
    const Ran ran = unit.run({"compare", "sent.syx", "back.syx", "--read-back", "loaded"});
    CHECK(ran.status == 1);
    check_golden(ran.output, "cli/golden/compare-loaded.txt");
    const Json fault = unit.loaded(plate_sent, room_shown, 1).at("contradicted-rules").at(0);
    CHECK(fault.at("rule") == "unknown-choice");
    CHECK(fault.at("stated") == "clamp");
    CHECK(fault.at("fits") == Json::array({"first"}));
    CHECK(fault.at("parameters") == Json::array({"mode"}));
    CHECK(fault.at("place").at("file") == "schemas/wren/1.0.json");
    CHECK(fault.at("place").at("line") == 2);
    CHECK(fault.at("place").at("pointer") == "/rules/unknown-choice");
    CHECK(fault.at("remedy") == Json{{"file", "schemas/wren/1.0.json"},
                                     {"line", 2},
                                     {"write", R"("unknown-choice": "first")"},
                                     {"why", "it is stated there"}});
    CHECK(unit.loaded(plate_sent, hall_shown, 1).at("contradicted-rules").at(0).at("fits") == Json::array({"reset"}));
    CHECK(unit.loaded(plate_sent, plate_shown, 1).at("contradicted-rules").at(0).at("fits") == Json::array({"keep"}));
}

TEST_CASE("compare: a parameter's own rule, and a general one that other parameters show right", "[cli]") {
    const Unit own(R"("unknown-choice": "first")", R"(, "rules": { "unknown-choice": "clamp" })");
    const Json fault = own.loaded(plate_sent, room_shown, 1).at("contradicted-rules").at(0);
    CHECK(fault.at("own-of") == "mode");
    CHECK(fault.at("remedy").at("write") == R"("unknown-choice": "first")");
    CHECK(fault.at("remedy").at("line") == 6);
    CHECK(fault.at("place").at("pointer") == "/parameters/mode/rules/unknown-choice");

    // Both parameters are beyond their ranges; the unit holds one at its end and puts the other to its default.
    const SmallRig rig;
    rig.write("schemas/wren/1.0.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.0", "parameters": {
    "volume": { "at": 0, "range": [0, 60], "default": 5 }, "mode": { "at": 1, "range": [0, 3], "default": 1 } } })");
    rig.write("schemas/wren/1.1.json", R"({ "format": "downfit release 1", "device": "wren", "release": "1.1",
  "extends": "1.0", "parameters": { "volume": { "range": [0, 100] }, "mode": { "range": [0, 9] } } })");
    rig.dump("sent.syx", "F0 7D 09 00 02 50 07 F7\n");
    rig.dump("back.syx", "F0 7D 09 00 01 3C 01 F7\n");
    const Ran ran = rig.run({"compare", "sent.syx", "back.syx", "--read-back", "loaded", "--format", "json"});
    const Json general = Json::parse(ran.output).at("contradicted-rules").at(0);
    CHECK(general.at("stated") == "clamp");
    CHECK(general.at("fits") == Json::array({"reset"}));
    CHECK(general.at("confirmed") == 1);
    CHECK(general.at("parameters") == Json::array({"mode"}));
    CHECK(general.at("place").at("file") == "schemas/wren/device.json");
    CHECK(general.at("remedy") == Json{{"file", "schemas/wren/1.0.json"},
                                       {"line", nullptr},
                                       {"write", R"("parameters": {"mode": {"rules": {"out-of-range": "reset"}}})"},
                                       {"why", "other values show that the rule is right for other parameters"}});
}

TEST_CASE("compare: what nobody states a unit can show", "[cli]") {
    const Unit unit("");
    const Json report = unit.loaded(plate_sent, room_shown, 0);
    CHECK(report.at("contradicted-rules") == Json::array());
    const Json& settled = report.at("settled-rules").at(0);
    CHECK(settled.at("rule") == "unknown-choice");
    CHECK(settled.at("stated") == nullptr);
    CHECK(settled.at("fits") == Json::array({"first"}));
    CHECK(settled.at("remedy").at("write") == R"("rules": {"unknown-choice": "first"})");
    CHECK(settled.at("remedy").at("file") == "schemas/wren/1.0.json");
}

TEST_CASE("compare: a value that no rule explains says where to look", "[cli]") {
    const Unit unit;
    // 95 is 15 dB, beyond 1.0's range: predicted 10 dB. The unit has 5 dB, as if its range ended there.
    const Json range = unit.loaded("F0 7D 09 00 02 5F 00 F7\n", "F0 7D 09 00 01 55 00 F7\n", 1);
    CHECK(range.at("contradicted-rules") == Json::array());
    const Json& fault = range.at("unexplained-values").at(0);
    CHECK(fault.at("parameter") == "volume");
    CHECK(fault.at("suspect") == "range");
    CHECK(fault.at("place").at("file") == "schemas/wren/1.0.json");
    CHECK(fault.at("examples").at(0).at("predicted") == "10 dB");
    CHECK(fault.at("examples").at(0).at("shown") == "5 dB");
    // Nothing happens to 0 dB; the unit has -10 dB.
    const Json moved = unit.loaded("F0 7D 09 00 02 50 00 F7\n", "F0 7D 09 00 01 46 00 F7\n", 1);
    CHECK(moved.at("unexplained-values").at(0).at("suspect") == "storage");
}

TEST_CASE("compare: a preset predicted to be refused, and one that did not arrive", "[cli]") {
    const Unit refuses(R"("unknown-choice": "refuse")");
    const Json report = refuses.loaded(plate_sent, spring_shown, 1);
    const Json& fault = report.at("contradicted-rules").at(0);
    CHECK(fault.at("rule") == "unknown-choice");
    CHECK(fault.at("stated") == "refuse");
    CHECK_THAT(report.at("pairs").at(0).at("prediction").at("reason").get<std::string>(),
               ContainsSubstring("predicted to be refused"));
}

TEST_CASE("compare: calls that make no sense", "[cli]") {
    const SmallRig rig;
    rig.dump("a.syx", room_on_1_1);
    rig.dump("cut.syx", std::string(room_on_1_1) + cut_short);
    const auto fails_with = [&](const std::vector<std::string>& arguments, const std::string& text) {
        const Ran ran = rig.run(arguments);
        CAPTURE(arguments, ran.output);
        CHECK(ran.status == 2);
        CHECK_THAT(ran.errors, ContainsSubstring(text));
    };
    fails_with({"compare", "a.syx"}, "two dumps are wanted");
    fails_with({"compare", "a.syx", "none.syx"}, "none.syx");
    fails_with({"compare", "a.syx", "a.syx", "--read-back", "memory"}, "--read-back cannot be \"memory\"");
    fails_with({"compare", "a.syx", "a.syx", "--match", "order"}, "--match cannot be \"order\"");
    fails_with({"compare", "a.syx", "a.syx", "--on", "1.0"}, "--on goes with --read-back loaded");
    fails_with({"compare", "a.syx", "a.syx", "--slot", "9"}, "no preset is left");
    fails_with({"compare", "a.syx", "a.syx", "--read-back", "loaded", "--on", "9.9"}, "9.9");
    CHECK(rig.run({"compare", "a.syx", "cut.syx"}).status == 2);
    CHECK(rig.run({"compare", "cut.syx", "cut.syx"}).status == 2);
}

TEST_CASE("compare: the demo's bank against itself, and with one changed byte", "[cli]") {
    const std::string bank = (project_folder() / "demo/dumps/bank-a.syx").string();
    const std::string schemas = (project_folder() / "schemas").string();
    const Ran same = run_downfit({"compare", bank, bank, "--schemas", schemas, "--format", "json"});
    CHECK(same.status == 0);
    CHECK(Json::parse(same.output).at("summary").at("same-bytes") == 124);
    const TempDir folder;
    Bytes bytes = demo_dump("bank-a.syx");
    bytes[300] ^= 1;
    write_bytes(folder / "changed.syx", bytes);
    const Ran changed =
        run_downfit({"compare", bank, (folder / "changed.syx").string(), "--schemas", schemas, "--format", "json"});
    CHECK(changed.status == 2);  // a byte under a check: that preset is damaged, all others are the same
    CHECK(Json::parse(changed.output).at("summary").at("damaged") == 1);
    CHECK(Json::parse(changed.output).at("summary").at("same") == 123);
}

TEST_CASE("compare: one bank in three formats is the same sound", "[cli]") {
    const std::string folder = (project_folder() / "demo/dumps/").string();
    const std::string schemas = (project_folder() / "schemas").string();
    for (const std::string bank : {"pipit-a", "pipit-b"}) {
        for (const std::string first : {".syx", ".xml"}) {
            for (const std::string second : {".xml", ".json"}) {
                const Ran ran = run_downfit({"compare", folder + bank + first, folder + bank + second, "--schemas",
                                             schemas, "--format", "json"});
                CAPTURE(bank, first, second, ran.errors);
                CHECK(ran.status == 0);
                const Json summary = Json::parse(ran.output).at("summary");
                CHECK(summary.at("same") == summary.at("pairs"));
                CHECK(summary.at("pairs") > 50);
            }
        }
    }
}

}  // namespace downfit::testing
