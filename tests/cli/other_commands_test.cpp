// Help, version, contents and about as a user runs them.
#include <nlohmann/json.hpp>
#include <string>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/golden.h"

namespace downfit::testing {

TEST_CASE("help and version", "[cli]") {
    const SmallRig rig;
    check_golden(rig.run({"--help"}).output, "cli/golden/help.txt");
    for (const std::string command : {"check", "contents", "rig", "compare", "refit", "about"}) {
        const Ran ran = rig.run({command, "--help"});
        CHECK(ran.status == 0);
        check_golden(ran.output, "cli/golden/help-" + command + ".txt");
        CHECK(rig.run({"help", command}).output == ran.output);
    }
    CHECK(rig.run({"help"}).output == rig.run({"--help"}).output);
    CHECK_THAT(rig.run({"--version"}).output, ContainsSubstring("downfit "));
    const Ran nothing = rig.run({});
    CHECK(nothing.status == 2);
    CHECK(nothing.output == "");
    CHECK(nothing.errors == rig.run({"--help"}).output);
}

TEST_CASE("check: every format to a file, with the same exit status", "[cli][formats]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1 + hall_on_1_1);
    for (const auto& [format, begins] : std::vector<std::pair<std::string, std::string>>{
             {"json", "{\n  \"format\": \"downfit check 1\""},
             {"csv", "file,slot,entry,name,"},
             {"markdown", "# 3 presets from bank.syx"},
             {"junit", "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites "},
             {"sarif", "{\n  \"$schema\": \"https://docs.oasis-open.org/sarif/"}}) {
        INFO(format);
        const std::vector<std::string> call{"check", bank, "--on", "1.0", "--format", format};
        std::vector<std::string> to_file = call;
        to_file.insert(to_file.end(), {"--output", format});
        const Ran ran = rig.run(call);
        CHECK(ran.status == 1);
        CHECK(ran.output.starts_with(begins));
        CHECK(rig.run(to_file).output == "");
        CHECK(rig.read(format) == ran.output);
    }
}

TEST_CASE("contents lists slots, and shows all of a preset", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + hall_on_1_1);
    const Ran list = rig.run({"contents", bank});
    CHECK(list.status == 0);
    check_golden(list.output, "cli/golden/contents-list.txt");
    const Ran slot = rig.run({"contents", bank, "--slot", "3"});
    CHECK(slot.status == 0);
    check_golden(slot.output, "cli/golden/contents-slot.txt");
    const auto json =
        nlohmann::json::parse(rig.run({"contents", bank, "--slot", "3", "--as", "1.0", "--format", "json"}).output);
    CHECK(json["format"] == "downfit contents 1");
    CHECK(json["entries"][0]["read-as"] == "1.0");
    CHECK(json["entries"][0]["parameters"][1]["parameter"] == "mode");
    CHECK(json["entries"][0]["parameters"][1]["stored"] == 2);
    CHECK(rig.run({"contents", bank, "--as", "9"}).status == 2);
    CHECK(rig.run({"contents"}).errors == "name a dump\n    downfit contents DUMP...\n");
}

TEST_CASE("contents of a damaged dump: what can be read, and status 2", "[cli]") {
    const SmallRig rig;
    const Ran ran = rig.run({"contents", rig.dump("bank.syx", std::string(room_on_1_1) + cut_short)});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.output, ContainsSubstring("filled"));
}

TEST_CASE("a JSON dump with a comma too many is told of and read; a broken one is told with its place", "[cli]") {
    const SmallRig rig;
    rig.write("schemas/wheatear/device.json", R"({"format": "downfit device 1", "device": "wheatear",
        "releases": ["1.0"], "layouts": {"export": {"as": "json", "presets": "/sounds/*", "stamp": "/firmware"}}})");
    rig.write("schemas/wheatear/1.0.json", R"({"format": "downfit release 1", "device": "wheatear", "release": "1.0",
        "stamp": "1.0.2", "parameters": {"volume": {"path": "/volume"}}})");
    rig.write("bank.json", "{\"sounds\": [{\"firmware\": \"1.0.2\", \"volume\": 3,}]}");
    const auto read = rig.run({"contents", "bank.json"});
    CHECK(read.status == 0);
    CHECK((read.output + read.errors).find("a comma before a closing bracket was passed over") != std::string::npos);
    rig.write("broken.json", "{\"sounds\": [\n{\"a\"}");
    const auto broken = rig.run({"contents", "broken.json"});
    CHECK(broken.status == 2);
    CHECK(broken.errors.find("broken.json:2:5: unexpected \"}\"") != std::string::npos);
}

namespace {

/// A device with dumps in JSON, and one in bytes.
struct Wheatear : SmallRig {
    Wheatear() {
        write("schemas/wheatear/device.json", R"({"format": "downfit device 1", "device": "wheatear",
        "releases": ["1.0"], "layouts": {
            "export": {"as": "json", "presets": "/sounds/*", "stamp": "/firmware"},
            "bytes": {"messages": {"preset": {"bytes": "F0 7D 0E {slot} {stamp} {data...} F7"}}, "preset": ["preset"],
                      "body": {"size": 1}}}})");
        write("schemas/wheatear/1.0.json", R"({"format": "downfit release 1", "device": "wheatear", "release": "1.0",
        "stamp": [1, "1.0.2"], "parameters": {"volume": {"path": "/volume", "in": {"bytes": {"at": 0}}}}})");
        write("folder/bank.json", R"({"sounds": [{"firmware": "1.0.2", "volume": 3}]})");
    }
};

}  // namespace

TEST_CASE("a broken JSON or XML file in a folder is told with its place, and the others are looked at", "[cli]") {
    const Wheatear rig;
    rig.write("folder/broken.json", "{\"sounds\": [\n{\"a\"}");
    rig.write("folder/notes.txt", "read out on Monday");
    const Ran check = rig.run({"check", "folder", "--on", "1.0", "--device", "wheatear"});
    CHECK(check.status == 2);
    CHECK_THAT(check.output, ContainsSubstring("folder/broken.json"));
    CHECK_THAT(check.output, ContainsSubstring("line 2, column 5: "));
    CHECK_THAT(check.output, ContainsSubstring("unexpected \"}\""));
    CHECK_THAT(check.output, ContainsSubstring("1 preset intact"));
    const auto json = nlohmann::json::parse(
        rig.run({"check", "folder", "--on", "1.0", "--device", "wheatear", "--format", "json"}).output);
    CHECK(json["presets"].size() == 1);
    CHECK(json["files"][1]["problems"][0]["line"] == 2);
    CHECK(json["files"][1]["problems"][0]["column"] == 5);
    // On its own, or with nothing else beside it, it is why nothing can be looked at.
    rig.write("alone/broken.json", "{\"sounds\": [\n{\"a\"}");
    const Ran alone = rig.run({"check", "alone", "--on", "1.0", "--device", "wheatear"});
    CHECK(alone.status == 2);
    CHECK_THAT(alone.errors, ContainsSubstring("alone/broken.json:2:5: unexpected \"}\""));
}

TEST_CASE("a layout or a variant that no device has is said to be none, and which there are", "[cli]") {
    const Wheatear rig;
    const Ran layout = rig.run({"check", "folder", "--on", "1.0", "--device", "wheatear", "--layout", "exprot"});
    CHECK(layout.status == 2);
    CHECK(layout.errors ==
          "wheatear has no layout \"exprot\"\n    expected: one of export, bytes\n    did you mean \"export\"?\n");
    const Ran variant = rig.run({"check", "folder", "--on", "1.0", "--device", "wheatear", "--variant", "mini"});
    CHECK(variant.status == 2);
    CHECK(variant.errors == "wheatear has no variant \"mini\": it comes in one only\n    leave it out\n");
}

TEST_CASE("contents of several dumps, and every parameter of each", "[cli]") {
    const Wheatear rig;
    rig.write("folder/more.json", R"({"sounds": [{"firmware": "1.0.2", "volume": 4}]})");
    const Ran ran = rig.run({"contents", "folder", "--every", "--format", "json", "--device", "wheatear"});
    CHECK(ran.status == 0);
    const auto json = nlohmann::json::parse(ran.output);
    REQUIRE(json.size() == 2);
    CHECK(json[0]["file"] == "folder/bank.json");
    CHECK(json[0]["entries"][0]["parameters"][0]["stored"] == 3);
    CHECK(json[1]["entries"][0]["parameters"][0]["stored"] == 4);
    const Ran one = rig.run({"contents", "folder/bank.json", "--every", "--format", "json", "--device", "wheatear"});
    CHECK(nlohmann::json::parse(one.output) == json[0]);
    const Ran text = rig.run({"contents", "folder", "--device", "wheatear"});
    CHECK_THAT(text.output, ContainsSubstring("folder/bank.json: "));
    CHECK_THAT(text.output, ContainsSubstring("folder/more.json: "));
}

TEST_CASE("commands that look at what a dump is made of take one that is read by name", "[cli]") {
    const Wheatear rig;
    rig.write("other.json", R"({"sounds": [{"firmware": "1.0.2", "volume": 4}]})");
    const Ran moved = rig.run({"schema", "moved", "folder/bank.json", "other.json"});
    CHECK(moved.status == 0);
    CHECK_THAT(moved.output, ContainsSubstring("/volume: 3 -> 4\n") && ContainsSubstring("is volume: 3 -> 4\n"));
    const Ran coverage = rig.run({"schema", "coverage", "other.json"});
    CHECK(coverage.status == 0);
    CHECK_THAT(coverage.output, ContainsSubstring("100.0 % of 1 values explained"));
}

TEST_CASE("about explains every word of the reports", "[cli]") {
    const SmallRig rig;
    check_golden(rig.run({"about"}).output, "cli/golden/about.txt");
    check_golden(rig.run({"about", "swapped"}).output, "cli/golden/about-swapped.txt");
    for (const std::string word : {"intact", "severe", "dormant", "damaged", "level-unknown", "out-of-range"}) {
        CHECK(rig.run({"about", word}).status == 0);
    }
    CHECK(rig.run({"about", "level", "unknown"}).output == rig.run({"about", "level-unknown"}).output);
    const Ran wrong = rig.run({"about", "swaped"});
    CHECK(wrong.status == 2);
    CHECK(wrong.errors == "the reports have no word \"swaped\"\n    did you mean \"swapped\"?\n");
}

}  // namespace downfit::testing
