// downfit schema coverage, moved and draft as a user runs them: what is told, exit statuses, files in and out.
#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/parsed.h"
#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/golden.h"
#include "support/hex.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

using nlohmann::json;

// A Wren whose presets have more bytes than its release files explain: slot, stamp, volume, mode, and two more.
constexpr const char* first_of_four = "F0 7D 09 00 01 50 00 05 00 F7\n";
constexpr const char* second_of_four = "F0 7D 09 01 01 7F 01 06 00 F7\n";
constexpr const char* second_turned = "F0 7D 09 01 01 7F 01 26 00 F7\n";

/// Twelve presets of two bytes on 1.0: the first counts, the second is one of two.
std::string dozen() {
    std::string hex;
    for (int i = 0; i < 12; ++i) {
        const char* digits = "0123456789ABCDEF";
        hex += std::string("F0 7D 09 0") + digits[i] + " 01 3" + digits[i] + " 0" + digits[i % 2] + " F7\n";
    }
    return hex;
}

/// The device alone, in a folder of its own.
std::string device_alone(const SmallRig& rig) {
    rig.write("new/device.json", rig.read("schemas/wren/device.json"));
    return "new/device.json";
}

std::vector<std::string> draft_call(const std::string& device, const std::string& dump) {
    return {"schema", "draft", "--device", device, dump, "--out", "new/1.0.json"};
}

}  // namespace

TEST_CASE("schema commands: help", "[cli]") {
    const SmallRig rig;
    for (const std::string command : {"coverage", "moved", "draft"}) {
        const Ran ran = rig.run({"schema", command, "--help"});
        CHECK(ran.status == 0);
        check_golden(ran.output, "cli/golden/help-schema-" + command + ".txt");
        CHECK(rig.run({"help", "schema", command}).output == ran.output);
    }
    CHECK(rig.run({"schema", "coverag"}).errors ==
          "there is no command \"schema coverag\"\n    did you mean \"schema coverage\"?\n");
}

TEST_CASE("schema coverage: the map and its words", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(first_of_four) + second_of_four);
    const Ran ran = rig.run({"schema", "coverage", bank});
    CHECK(ran.errors == "");
    CHECK(ran.status == 0);
    check_golden(ran.output, "cli/golden/schema-coverage.txt");
    const json told = parsed(rig.run({"schema", "coverage", bank, "--format", "json"}));
    CHECK(told["format"] == "downfit schema coverage 1");
    CHECK(told["parts"][0]["unexplained"] == 2);
    CHECK(told["parts"][0]["unexplained-varying"] == 1);
    CHECK(told["parts"][0]["bytes"][2]["look"] == "unexplained-varying");
    CHECK(told["parts"][0]["beyond-range"][0]["parameter"] == "volume");
    // check tells the same, in one line.
    const Ran check = rig.run({"check", bank, "--on", "1.0"});
    CHECK_THAT(check.output, ContainsSubstring("\n- Unexplained bytes, not checked: 2 of 4 on 1.0, 1 varies (schema "
                                               "coverage).\n"));
    const json checked = parsed(rig.run({"check", bank, "--on", "1.0", "--format", "json"}));
    CHECK(checked["unexplained-bytes"][0]["bytes"] == told["parts"][0]["unexplained"]);
    CHECK(checked["unexplained-bytes"][0]["varying"] == told["parts"][0]["unexplained-varying"]);
    CHECK(checked["unexplained-bytes"][0]["of"] == told["parts"][0]["places"]);
}

TEST_CASE("schema coverage: at any width lines are no longer than that", "[cli]") {
    const std::string dumps = (project_folder() / "demo/dumps").string();
    const std::string schemas = (project_folder() / "schemas").string();
    const SmallRig rig;
    for (const std::string width : {"60", "80", "133"}) {
        for (const std::string file : {"bank-b.syx", "pipit-a.syx"}) {
            CAPTURE(width, file);
            const Ran ran = rig.run({"schema", "coverage", dumps + '/' + file, "--schemas", schemas, "--width", width});
            CHECK(ran.status == 0);
            std::size_t longest = 0;
            for (std::size_t from = 0; from < ran.output.size();) {
                const std::size_t end = ran.output.find('\n', from);
                longest = std::max(longest, end - from);
                from = end + 1;
            }
            CHECK(longest <= std::stoul(width));
        }
    }
}

TEST_CASE("schema coverage: statuses", "[cli]") {
    const SmallRig rig;
    CHECK(rig.run({"schema", "coverage"}).status == 2);
    CHECK(rig.run({"schema", "coverage", "missing.syx"}).status == 2);
    const Ran damaged = rig.run({"schema", "coverage", rig.dump("cut.syx", std::string(first_of_four) + cut_short)});
    CHECK(damaged.status == 2);
    CHECK_THAT(damaged.output, ContainsSubstring("1 preset"));
    const Ran unknown = rig.run({"schema", "coverage", rig.dump("unknown.syx", "F0 7D 09 00 44 50 00 F7")});
    CHECK(unknown.status == 3);
    CHECK_THAT(unknown.output, ContainsSubstring("Not looked at: 1 preset"));
    CHECK(rig.run({"schema", "coverage", rig.dump("a.syx", first_of_four), "--saved-on", "9"}).status == 2);
}

TEST_CASE("schema moved: text and JSON", "[cli]") {
    const SmallRig rig;
    const std::string before = rig.dump("before.syx", std::string(first_of_four) + second_of_four);
    const std::string after = rig.dump("after.syx", std::string(first_of_four) + second_turned);
    const Ran ran = rig.run({"schema", "moved", before, after});
    CHECK(ran.errors == "");
    CHECK(ran.status == 0);
    check_golden(ran.output, "cli/golden/schema-moved.txt");
    const json told = parsed(rig.run({"schema", "moved", before, after, "--format", "json"}));
    CHECK(told["format"] == "downfit schema moved 1");
    CHECK(told["entries"].size() == 1);
    CHECK(told["entries"][0]["moved-bytes"] == 1);
    const json run = told["entries"][0]["runs"][0];
    CHECK(run["bytes"][0] ==
          json::parse(R"({"record": null, "byte": 2, "body": [2, 2], "offset": [17, 17], "before": 6, "after": 38,
                          "bits": 32})"));
    CHECK(run["readings"][0]["storage"] == json::parse(R"({"at": 2, "as": "bits", "bit": 5, "width": 1})"));
    CHECK(run["explained"] == false);
}

TEST_CASE("schema moved: statuses, and what cannot be compared", "[cli]") {
    const SmallRig rig;
    const std::string before = rig.dump("before.syx", first_of_four);
    CHECK(rig.run({"schema", "moved", before}).status == 2);
    CHECK(rig.run({"schema", "moved", before, "missing.syx"}).status == 2);
    const Ran same = rig.run({"schema", "moved", before, before});
    CHECK(same.status == 0);
    CHECK_THAT(same.output, ContainsSubstring("Nothing moved"));
    const Ran two = rig.run({"schema", "moved", rig.dump("two.syx", std::string(first_of_four) + second_of_four),
                             rig.dump("none.syx", "F0 7D 09 05 01 50 00 05 00 F7\nF0 7D 09 06 01 50 00 05 00 F7\n")});
    CHECK(two.status == 3);
    CHECK_THAT(two.output, ContainsSubstring("Only in the first: 1, 2."));
    const Ran cut = rig.run({"schema", "moved", before, rig.dump("cut.syx", std::string(first_of_four) + cut_short)});
    CHECK(cut.status == 2);
    CHECK_THAT(cut.output, ContainsSubstring("0 of 1 preset moved"));
    // However narrow, and however long the readings are.
    const Ran narrow = rig.run({"schema", "moved", rig.dump("x.syx", "F0 7D 09 00 01 50 00 7F 00 F7"),
                                rig.dump("y.syx", "F0 7D 09 00 01 50 00 01 7E F7"), "--width", "60"});
    for (std::size_t from = 0; from < narrow.output.size(); from = narrow.output.find('\n', from) + 1)
        CHECK(narrow.output.find('\n', from) - from <= 60);
}

TEST_CASE("schema moved: the device file alone", "[cli]") {
    const SmallRig rig;
    (void)device_alone(rig);
    const Ran ran = rig.run({"schema", "moved", rig.dump("before.syx", second_of_four),
                             rig.dump("after.syx", second_turned), "--schemas", "new"});
    CHECK(ran.status == 0);
    CHECK_THAT(ran.output, ContainsSubstring("byte 2: 6 -> 38  (06 -> 26 hex, bits ..5.....)"));
}

TEST_CASE("schema draft: a release file that check takes, and a verdict that says what it rests on", "[cli]") {
    const SmallRig rig;
    const std::string device = device_alone(rig);
    const std::string bank = rig.dump("bank.syx", dozen());
    const Ran ran = rig.run(draft_call(device, bank));
    CHECK(ran.errors == "");
    CHECK(ran.status == 0);
    check_golden(ran.output, "cli/golden/schema-draft.txt");
    check_golden(rig.read("new/1.0.json"), "cli/golden/schema-draft.json");
    const Ran check = rig.run({"check", bank, "--on", "1.0", "--schemas", "new"});
    CHECK(check.status == 0);
    CHECK_THAT(
        check.output,
        ContainsSubstring(
            "\nOnly observed, not documented: up to 2 parameters of 12 presets. That is most of them: safe means\n"
            "  here that no change is known, not that there is none.\n"));
    const Ran one = rig.run({"check", bank, "--on", "1.0", "--schemas", "new", "--slot", "2"});
    CHECK_THAT(one.output, ContainsSubstring("on 1.0: intact; all 2 parameters as saved; rests on 2 that are only"));
    const json told = parsed(rig.run({"check", bank, "--on", "1.0", "--schemas", "new", "--format", "json"}));
    CHECK(told["presets"][0]["targets"][0]["observed-parameters"] == 2);
    // A documented schema says nothing of the kind.
    const Ran documented = rig.run({"check", bank, "--on", "1.0"});
    CHECK(documented.output.find("observed") == std::string::npos);
    const json plain = parsed(rig.run({"check", bank, "--on", "1.0", "--format", "json"}));
    CHECK(plain["presets"][0]["targets"][0]["observed-parameters"] == 0);
}

TEST_CASE("check: a finding says that its range is only observed", "[cli]") {
    const SmallRig rig;
    rig.write("schemas/wren/1.1.json", R"({ "format": "downfit release 1", "device": "wren", "release": "1.1",
  "extends": "1.0", "rules": { "older-stamp": "load" }, "parameters": { "volume": { "range": [-80, 0], "documented": "observed" } } })");
    const std::string bank = rig.dump("bank.syx", "F0 7D 09 00 01 64 00 F7");
    const Ran ran = rig.run({"check", bank, "--on", "1.1", "--detail"});
    CHECK(ran.status == 1);
    CHECK_THAT(ran.output, ContainsSubstring("its range is only observed"));
    const json told = parsed(rig.run({"check", bank, "--on", "1.1", "--format", "json"}));
    CHECK(told["presets"][0]["targets"][0]["findings"][0]["observed"] == true);
    CHECK(told["presets"][0]["targets"][0]["observed-parameters"] == 1);
}

TEST_CASE("schema draft: never over a file that is there, unless told to", "[cli]") {
    const SmallRig rig;
    const std::string device = device_alone(rig);
    const std::string bank = rig.dump("bank.syx", dozen());
    rig.write("new/1.0.json", "mine");
    std::vector<std::string> call = draft_call(device, bank);
    const Ran kept = rig.run(call);
    CHECK(kept.status == 2);
    CHECK(kept.errors == "new/1.0.json: is there already\n    --force replaces it, with all that was edited in it\n");
    CHECK(rig.read("new/1.0.json") == "mine");
    call.emplace_back("--force");
    CHECK(rig.run(call).status == 0);
    CHECK(rig.read("new/1.0.json") != "mine");
    // Nothing but the file itself is left behind.
    std::size_t files = 0;
    for ([[maybe_unused]] const auto& file : std::filesystem::directory_iterator(rig.path("new"))) ++files;
    CHECK(files == 2);
    // Never over what is read, forced or not.
    for (const std::string& read : {device, bank}) {
        const std::string was = rig.read(read);
        CHECK(rig.run({"schema", "draft", "--device", device, bank, "--out", read, "--force"}).status == 2);
        CHECK(rig.read(read) == was);
    }
}

TEST_CASE("schema draft: what is missing, and which presets are meant", "[cli]") {
    const SmallRig rig;
    const std::string device = device_alone(rig);
    const std::string bank = rig.dump("bank.syx", dozen());
    CHECK(rig.run({"schema", "draft", bank, "--out", "new/1.0.json"}).status == 2);
    CHECK(rig.run({"schema", "draft", "--device", device, "--out", "new/1.0.json"}).status == 2);
    CHECK(rig.run({"schema", "draft", "--device", device, bank}).status == 2);
    CHECK(rig.run(draft_call("missing.json", bank)).status == 2);
    CHECK(rig.run(draft_call(device, rig.dump("other.syx", "F0 7D 01 00 F7"))).status == 2);
    CHECK_FALSE(std::filesystem::exists(rig.path("new/1.0.json")));

    // Two releases and no stamps in the device file: which is which has to be said.
    std::string text = rig.read(device);
    text.replace(text.find(R"([{"release": "1.0", "stamp": 1}, {"release": "1.1", "stamp": 2}])"), 64,
                 R"(["1.0", "1.1"])");
    rig.write(device, text);
    const std::string both = rig.dump("both.syx", dozen() + "F0 7D 09 0D 02 50 00 F7");
    CHECK_THAT(rig.run(draft_call(device, both)).errors, ContainsSubstring("which release do the dumps show?"));
    std::vector<std::string> call = draft_call(device, both);
    call.insert(call.end(), {"--release", "1.0"});
    CHECK_THAT(rig.run(call).errors, ContainsSubstring("stamps 1 (12 presets), 2 (1 preset)"));
    call.insert(call.end(), {"--stamp", "7"});
    CHECK_THAT(rig.run(call).errors, ContainsSubstring("no preset carries the stamp 7"));
    call.back() = "1";
    const Ran ran = rig.run(call);
    CHECK(ran.status == 0);
    CHECK_THAT(ran.output, ContainsSubstring("Left out: 1 preset with another stamp."));
    CHECK_THAT(rig.read("new/1.0.json"), ContainsSubstring("\"stamp\": 1,"));
}

TEST_CASE("schema draft: bodies of another length than the device file says", "[cli]") {
    const SmallRig rig;
    const std::string device = device_alone(rig);
    const Ran ran = rig.run(draft_call(device, rig.dump("bank.syx", std::string(first_of_four) + second_of_four)));
    CHECK(ran.errors == "");
    CHECK(ran.status == 0);
    CHECK_THAT(ran.output, ContainsSubstring("Bodies have 4 bytes"));
    CHECK_THAT(rig.read("new/1.0.json"), ContainsSubstring(R"("layouts": { "preset": { "body": { "size": 4 } } },)"));
    CHECK(rig.run({"schema", "coverage", "bank.syx", "--schemas", "new"}).status == 0);
}

TEST_CASE("schema draft: damage in the dump is left out and told by the status", "[cli]") {
    const SmallRig rig;
    const std::string device = device_alone(rig);
    const Ran ran = rig.run(draft_call(device, rig.dump("bank.syx", dozen() + cut_short)));
    CHECK(ran.status == 2);
    CHECK_THAT(ran.output, ContainsSubstring("from 12 presets"));
    CHECK_THAT(ran.output, ContainsSubstring("Left out: 1 preset damaged."));
    CHECK(std::filesystem::exists(rig.path("new/1.0.json")));
}

TEST_CASE("schema commands: any damage to a dump ends in a status, never in a crash", "[cli]") {
    const SmallRig rig;
    const Bytes whole = read_bytes(project_folder() / "demo/dumps/pipit-a.syx");
    const std::string schemas = (project_folder() / "schemas/pipit").string();
    const std::string device = schemas + "/device.json";
    write_bytes(rig.path("whole.syx"), whole);
    for (std::size_t i = 0; i < 12; ++i) {
        Bytes bytes = whole;
        const std::size_t at = 40 + i * (whole.size() / 12);
        if (i % 3 == 0) bytes.resize(at);
        if (i % 3 == 1) bytes[at % bytes.size()] ^= 0x15;
        if (i % 3 == 2)
            bytes.erase(bytes.begin() + static_cast<std::ptrdiff_t>(at % 2000),
                        bytes.begin() + static_cast<std::ptrdiff_t>(at % 2000 + 300));
        write_bytes(rig.path("damaged.syx"), bytes);
        CAPTURE(i, at);
        CHECK(rig.run({"schema", "coverage", "damaged.syx", "--schemas", schemas}).status == 2);
        CHECK(rig.run({"schema", "moved", "whole.syx", "damaged.syx", "--schemas", schemas}).status == 2);
        CHECK(rig.run({"schema", "draft", "--device", device, "damaged.syx", "--release", "2.1", "--stamp", "240",
                       "--out", "draft.json", "--force"})
                  .status == 2);
    }
}

}  // namespace downfit::testing
