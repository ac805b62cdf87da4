// downfit changes and downfit schema proof as a user runs them: what is told, exit statuses, files in and out.
#include <nlohmann/json.hpp>
#include <string>

#include "cli/parsed.h"
#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/golden.h"

namespace downfit::testing {

namespace {

using nlohmann::json;

/// A bank of three presets saved on 1.1: Room, Plate and Hall.
std::string bank(const SmallRig& rig) {
    return rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1 + hall_on_1_1);
}

/// The text with one part put in place of another, which must be there.
std::string with(std::string text, const std::string& find, const std::string& put) {
    const std::size_t at = text.find(find);
    REQUIRE(at != std::string::npos);
    return text.replace(at, find.size(), put);
}

/// Every rule that may decide is stated, so that nothing is wrong with the Wren.
void state_all_rules(const SmallRig& rig) {
    rig.write("schemas/wren/device.json", with(rig.read("schemas/wren/device.json"), R"("newer-stamp": "load")",
                                               R"("newer-stamp": "load", "older-stamp": "load", "off-step": "round",
             "unknown-choice": "clamp", "longer-image": "ignore", "shorter-image": "zero")"));
}

}  // namespace

TEST_CASE("changes and schema proof: help", "[cli]") {
    const SmallRig rig;
    const Ran changes = rig.run({"changes", "--help"}), proof = rig.run({"schema", "proof", "--help"});
    CHECK(changes.status == 0);
    CHECK(proof.status == 0);
    check_golden(changes.output, "cli/golden/help-changes.txt");
    check_golden(proof.output, "cli/golden/help-schema-proof.txt");
    CHECK(rig.run({"help", "schema", "proof"}).output == proof.output);
}

TEST_CASE("changes: text, with a bank", "[cli]") {
    const SmallRig rig;
    const Ran ran = rig.run({"changes", "1.0", "1.1", "--with", bank(rig)});
    CHECK(ran.errors == "");
    CHECK(ran.status == 0);
    check_golden(ran.output, "cli/golden/changes.txt");
}

TEST_CASE("changes: how many presets hold more", "[cli]") {
    const SmallRig rig;
    rig.write("schemas/wren/1.0.json",
              with(rig.read("schemas/wren/1.0.json"), R"("range": [-80, 20])", R"("range": [-80, -10])"));
    rig.write("schemas/wren/1.1.json",
              with(rig.read("schemas/wren/1.1.json"), R"("mode":)", R"("volume": { "range": [-80, 20] }, "mode":)"));
    // Stored 80 is 0 dB, 70 is -10 dB.
    const std::string dump = rig.dump("bank.syx",
                                      "F0 7D 09 00 02 50 00 F7\n"
                                      "F0 7D 09 01 02 46 00 F7\n"
                                      "F0 7D 09 02 02 10 00 F7\n"
                                      "F0 7D 09 03 02 64 00 F7\n");
    const Ran ran = rig.run({"changes", "1.0", "1.1", "--with", dump});
    CHECK_THAT(ran.output, ContainsSubstring("range of volume: -80..20 dB -> -80..-10 dB"));
    CHECK_THAT(ran.output, ContainsSubstring("2 of 4 presets hold more, 2 audibly; 2 unaffected"));
    const json told = parsed(rig.run({"changes", "1.0", "1.1", "--with", dump, "--format", "json"}));
    const json& range = told["changes"][0];
    CHECK(range["kind"] == "range");
    CHECK(range["back"]["effect"] == "clamped");
    CHECK(range["back"]["presets"] == 2);
    CHECK(range["back"]["unaffected"] == 2);
    CHECK(range["back"]["which"][1]["slot"] == 4);
    CHECK(range["forward"]["effect"] == "nothing");
    CHECK(range["forward"]["presets"] == 0);
}

TEST_CASE("changes: JSON and Markdown", "[cli]") {
    const SmallRig rig;
    const std::string dump = bank(rig);
    const json told = parsed(rig.run({"changes", "1.0", "1.1", "--format", "json"}));
    CHECK(told["format"] == "downfit changes 1");
    CHECK(told["older"] == "1.0");
    CHECK(told["use"].is_null());
    REQUIRE(told["changes"].size() == 2);
    CHECK(told["changes"][0]["kind"] == "choice-inserted");
    CHECK(told["changes"][0]["back"]["silent"] == true);
    CHECK(told["changes"][0]["place"]["pointer"] == "/parameters/mode");
    CHECK(told["changes"][0]["releases"] == json::array({"1.1"}));
    CHECK(told["changes"][1]["kind"] == "stamp");
    const json used = parsed(rig.run({"changes", "1.0", "1.1", "--with", dump, "--format", "json"}))["use"];
    CHECK(used["back"]["presets"] == 3);
    CHECK(used["back"]["intact"] == 1);
    CHECK(used["back"]["findings"] == used["back"]["findings-from-changes"]);
    CHECK(used["forward"]["presets"] == 0);
    // The same as check tells.
    const json checked = parsed(rig.run({"check", dump, "--on", "1.0", "--format", "json"}));
    std::size_t findings = 0;
    for (const json& preset : checked["presets"]) {
        for (const json& target : preset["targets"]) findings += target["findings"].size();
    }
    CHECK(used["back"]["findings"] == findings);
    const Ran markdown = rig.run({"changes", "1.0", "1.1", "--with", dump, "--format", "markdown"});
    CHECK(markdown.status == 0);
    check_golden(markdown.output, "cli/golden/changes.md");
}

TEST_CASE("changes: what is wrong with the call", "[cli]") {
    const SmallRig rig;
    const std::string dump = bank(rig);
    const auto problem = [&](const std::vector<std::string>& arguments) {
        const Ran ran = rig.run(arguments);
        CHECK(ran.status == 2);
        CHECK(ran.output == "");
        return ran.errors;
    };
    CHECK_THAT(problem({"changes", "1.0"}), ContainsSubstring("two releases are wanted"));
    CHECK_THAT(problem({"changes", "1.1", "1.0"}), ContainsSubstring("downfit changes 1.0 1.1"));
    CHECK_THAT(problem({"changes", "1.0", "1.0"}), ContainsSubstring("1.0 is named twice"));
    CHECK_THAT(problem({"changes", "1.0", "1.2"}), ContainsSubstring("1.2"));
    CHECK_THAT(problem({"changes", "1.0", "1.1", "--format", "csv"}),
               ContainsSubstring("one of text, json, markdown, html"));
    CHECK_THAT(problem({"changes", "1.0", "1.1", "--with", "nowhere.syx"}), ContainsSubstring("nowhere.syx"));
    CHECK_THAT(problem({"changes", "1.0", "1.1", "--with", dump, "--output", dump, "--force"}),
               ContainsSubstring("never changes those"));
    CHECK_THAT(problem({"changes", "1.0", "1.1", "--with", dump, "--variant", "mini"}),
               ContainsSubstring("no variant \"mini\""));
    CHECK(rig.run({"changes", "1.0", "1.1", "--output", "report.txt"}).status == 0);
    CHECK_THAT(rig.read("report.txt"), ContainsSubstring("Wren: what changed from 1.0 to 1.1, 2 changes"));
    // A damaged dump is told of, the rest is counted.
    const Ran damaged =
        rig.run({"changes", "1.0", "1.1", "--with", rig.dump("cut.syx", std::string(room_on_1_1) + cut_short)});
    CHECK(damaged.status == 2);
    CHECK_THAT(damaged.output, ContainsSubstring("1 preset damaged in the file: not counted here"));
    CHECK_THAT(damaged.output, ContainsSubstring("1 preset goes this way: 1 intact"));
}

TEST_CASE("schema proof: missing rules, and how many presets each leaves unsure", "[cli]") {
    const SmallRig rig;
    const Ran ran = rig.run({"schema", "proof", "--with", bank(rig)});
    CHECK(ran.errors == "");
    CHECK(ran.status == 1);
    check_golden(ran.output, "cli/golden/schema-proof.txt");
    const json told = parsed(rig.run({"schema", "proof", "--with", bank(rig), "--format", "json"}));
    CHECK(told["format"] == "downfit schema proof 1");
    CHECK(told["presets"] == 3);
    CHECK(told["summary"]["errors"] == 0);
    std::size_t unsure = 0;
    for (const json& flaw : told["devices"][0]["flaws"]) {
        CHECK(flaw["fault"] == "rule-missing");
        if (flaw["rule"] == "unknown-choice") unsure = flaw["presets-unsure"];
    }
    CHECK(unsure == 1);  // Hall is number 2, which 1.0 has not
}

TEST_CASE("schema proof: clean, marked, broken", "[cli]") {
    const SmallRig rig;
    state_all_rules(rig);
    const Ran clean = rig.run({"schema", "proof"});
    CHECK(clean.status == 0);
    CHECK_THAT(clean.output, ContainsSubstring("Clean: nothing contradicts itself."));
    const std::string right = rig.read("schemas/wren/1.0.json");
    const std::string outside = with(right, R"("range": [-80, 20])", R"("range": [-80, 20], "default": 30)");
    rig.write("schemas/wren/1.0.json", outside);
    const Ran problem = rig.run({"schema", "proof", "schemas"});
    CHECK(problem.status == 1);
    CHECK_THAT(problem.output, ContainsSubstring("PROBLEM  default-outside-range\n"
                                                 "  schemas/wren/1.0.json:2:"));
    CHECK_THAT(problem.output, ContainsSubstring(" at /parameters/volume/default\n"));
    CHECK_THAT(problem.output, ContainsSubstring("1 problem to mend, or to mark"));
    // Only the other file is asked for.
    CHECK(rig.run({"schema", "proof", "schemas/wren/1.1.json"}).status == 0);
    CHECK(rig.run({"schema", "proof", "schemas/wren/1.0.json"}).status == 1);
    rig.write("schemas/wren/1.0.json",
              with(outside, R"("default": 30)",
                   R"("default": 30, "true-to-device": { "default-outside-range": "seen on ours" })"));
    const Ran marked = rig.run({"schema", "proof"});
    CHECK(marked.status == 0);
    CHECK_THAT(marked.output, ContainsSubstring("  true:     seen on ours\n"));
    rig.write("schemas/wren/1.0.json", with(right, R"("unit": "dB")", R"("unti": "dB")"));
    const Ran broken = rig.run({"schema", "proof"});
    CHECK(broken.status == 2);
    CHECK_THAT(broken.output, ContainsSubstring("did you mean \"unit\"?"));
    CHECK_THAT(broken.output, ContainsSubstring("to mend before anything can be judged"));
    CHECK(rig.run({"schema", "proof", "nowhere"}).status == 2);
}

}  // namespace downfit::testing
