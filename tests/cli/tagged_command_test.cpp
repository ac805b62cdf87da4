// A device with tagged records whose dumps say how many presets they hold: what reports say of places, of numbers
// beyond a release's own range, of what is not stored, and of dumps that are not whole.
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/hex.h"

namespace downfit::testing {

namespace {

void describe_dipper(const SmallRig& rig) {
    rig.write("schemas/dipper/device.json", R"({
  "format": "downfit device 1", "device": "dipper", "title": "Dipper", "maker": "Quillfeather",
  "releases": [{"release": "1.2", "stamp": 258}, {"release": "1.4", "stamp": 260}],
  "layouts": { "bank": {
      "messages": { "start": { "bytes": "F0 7D 44 10 {presets} F7" },
                    "preset": { "bytes": "F0 7D 44 11 {slot} {data...} {check} F7",
                                "steps": [ { "unpack": "nibbles", "order": "high-first" },
                                           { "check": "sum-7", "over": ["data"], "in": "check" } ] },
                    "end": { "bytes": "F0 7D 44 12 F7" } },
      "dump": ["start", "...", "end"], "preset": ["preset"], "stamp": { "at": 0, "as": "uint16" },
      "body": { "records": { "from": 2, "head": ["id", "length"] } } } },
  "rules": { "out-of-range": "clamp", "newer-stamp": "load", "missing-parameter": "default", "unknown-parameter": "skip" }
})");
    rig.write("schemas/dipper/1.2.json", R"({ "format": "downfit release 1", "device": "dipper", "release": "1.2",
  "groups": { "echo": { "kind": "block" } },
  "parameters": { "echo.time": { "tag": 17, "as": "uint16", "unit": "ms", "range": [1, 700], "default": 350, "role": "time" },
                  "echo.tone": { "tag": 20, "range": [0, 100], "default": 70 },
                  "level": { "tag": 32, "range": [0, 100], "default": 0 } } })");
    rig.write("schemas/dipper/1.4.json", R"({ "format": "downfit release 1", "device": "dipper", "release": "1.4",
  "extends": "1.2",
  "parameters": { "echo.time": { "range": [1, 1400] }, "echo.tone": { "default": 5 }, "level": { "range": [0, 120] },
                  "echo.wobble": { "tag": 21, "range": [0, 100], "default": 0, "neutral": 0 } } })");
}

/// A preset message: the body as nibbles, and the sum of its bytes (or, made wrong, of its nibbles).
std::string preset(const std::string& slot, const std::string& body, bool right_check = true) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string hex = "F0 7D 44 11 " + slot;
    unsigned sum = 0;
    for (const std::uint8_t byte : from_hex(body)) {
        hex += std::string(" 0") + digits[byte >> 4] + " 0" + digits[byte & 0xF];
        sum += right_check ? byte : 0u + (byte >> 4) + (byte & 0xF);
    }
    return hex + ' ' + digits[(sum >> 4) & 7] + digits[sum & 0xF] + " F7\n";
}

const std::string start_of_1 = "F0 7D 44 10 01 F7\n", start_of_3 = "F0 7D 44 10 03 F7\n", end = "F0 7D 44 12 F7\n";
/// Stamp 1.4, time 1200, level 127 (beyond 1.4's own 120); no tone.
const std::string loud = "01 04 11 02 04 B0 20 01 7F";
const std::string plain = "01 04 11 02 01 00 14 01 32 20 01 10";

nlohmann::json checked(const SmallRig& rig, const std::string& dump) {
    return nlohmann::json::parse(rig.run({"check", dump, "--on", "1.2", "--format", "json"}).output);
}

nlohmann::json finding(const nlohmann::json& report, const std::string& parameter) {
    for (const auto& one : report["presets"][0]["targets"][0]["findings"]) {
        if (one["parameter"] == parameter) return one;
    }
    FAIL("no finding for " << parameter);
    return {};
}

}  // namespace

TEST_CASE("check: values in records are found at their own bytes", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    const std::string dump = rig.dump("one.syx", start_of_1 + preset("00", loud) + end);
    const nlohmann::json time = finding(checked(rig, dump), "echo.time");
    CHECK(time["saved"] == nlohmann::json{{"stored", "1200"}, {"value", "1200 ms"}, {"byte", 4}, {"offset", 19}});
    CHECK(time["loaded"]["offset"] == 19);
    CHECK(time["saved-overflow"] == nullptr);
    // Start message 6 bytes, head of the next 5: body byte b begins at offset 11 + 2b.
    const std::string bytes = rig.read(dump);
    CHECK(bytes.substr(19, 4) == std::string("\x00\x04\x0B\x00", 4));
}

TEST_CASE("check: the witness is the number in the dump, and the saving release's own overflow is told", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    const std::string dump = rig.dump("one.syx", start_of_1 + preset("00", loud) + end);
    const nlohmann::json level = finding(checked(rig, dump), "level");
    CHECK(level["saved"] == nlohmann::json{{"stored", "127"}, {"value", "120"}, {"byte", 8}, {"offset", 27}});
    CHECK(level["loaded"]["stored"] == "100");
    CHECK(level["saved-overflow"] == "1.4 itself holds it at 120");
    const Ran details = rig.run({"check", dump, "--on", "1.2", "--detail"});
    CHECK_THAT(details.output, ContainsSubstring("stored 127, there 100; byte 27 (0x1B) of the file; 1.4"));
    const Ran contents = rig.run({"contents", dump, "--slot", "1"});
    CHECK_THAT(contents.output, ContainsSubstring("127  (127)  beyond the range 0..120"));
    CHECK(contents.output.find("1200 ms  (1200)  beyond") == std::string::npos);
}

TEST_CASE("check: what has no record has no place", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    const std::string dump = rig.dump("one.syx", start_of_1 + preset("00", loud) + end);
    const nlohmann::json tone = finding(checked(rig, dump), "echo.tone");
    const nlohmann::json nowhere{{"stored", nullptr}, {"byte", nullptr}, {"offset", nullptr}};
    for (const char* side : {"saved", "loaded"}) {
        for (const auto& [key, value] : nowhere.items()) CHECK(tone[side][key] == value);
    }
    CHECK(tone["saved"]["value"] == "5");
    CHECK(tone["loaded"]["value"] == "70");
    CHECK_THAT(rig.run({"check", dump, "--on", "1.2", "--detail"}).output,
               ContainsSubstring("nothing to read: default; not stored; sounding"));
}

TEST_CASE("check: a record that runs past the end is damage", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    for (const char* cut : {" 20 02 10", " 20"}) {
        const std::string body = "01 04 11 02 01 00 14 01 32" + std::string(cut);
        const std::string dump = rig.dump("cut.syx", start_of_1 + preset("00", body) + end);
        const Ran ran = rig.run({"check", dump, "--on", "1.2"});
        CHECK(ran.status == 2);
        CHECK_THAT(ran.output, ContainsSubstring("the record at byte 9 of the preset runs past its end"));
        const nlohmann::json preset = checked(rig, dump)["presets"][0];
        CHECK(preset["state"] == "damaged");
        CHECK(preset["damage"][0]["offset"] == 29);
        CHECK(rig.run({"contents", dump}).status == 2);
    }
}

TEST_CASE("check: a dump without all the presets that it announces is not whole", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    const std::string two = preset("00", plain) + preset("01", plain);
    const Ran ran = rig.run({"check", rig.dump("two.syx", start_of_3 + two + end), "--on", "1.4"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.output, ContainsSubstring("2 safe to load, intact"));
    CHECK_THAT(ran.output,
               ContainsSubstring("two.syx is not whole: message \"start\" announces 3 presets, but 2 follow."));
    const std::string three = two + preset("02", plain);
    CHECK(rig.run({"check", rig.dump("three.syx", start_of_3 + three + end), "--on", "1.4"}).status == 0);
    const std::string banks = start_of_3 + three + end + start_of_1 + preset("03", plain) + end;
    CHECK(rig.run({"check", rig.dump("banks.syx", banks), "--on", "1.4"}).status == 0);
}

TEST_CASE("check: a start or end message that is missing is told", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    const Ran headless = rig.run({"check", rig.dump("a.syx", preset("00", plain) + end), "--on", "1.4"});
    CHECK(headless.status == 2);
    CHECK_THAT(headless.output, ContainsSubstring("message \"start\" is missing before this"));
    const Ran endless = rig.run({"check", rig.dump("b.syx", start_of_1 + preset("00", plain)), "--on", "1.4"});
    CHECK(endless.status == 2);
    CHECK_THAT(endless.output, ContainsSubstring("message \"end\" is missing after the last preset"));
}

TEST_CASE("check: where all presets fail alike, the schema is named too", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    std::string all;
    for (const char* slot : {"00", "01", "02"}) all += preset(slot, plain, false);
    const std::string dump = rig.dump("alike.syx", start_of_3 + all + end);
    CHECK_THAT(rig.run({"check", dump, "--on", "1.4"}).output,
               ContainsSubstring("All 3 presets fail alike (message \"preset\": the check sum-7)"));
    CHECK_THAT(rig.run({"contents", dump}).output, ContainsSubstring("All 3 presets fail alike"));
    const std::string one = preset("00", plain) + preset("01", plain) + preset("02", plain, false);
    CHECK(rig.run({"check", rig.dump("one.syx", start_of_3 + one + end), "--on", "1.4"}).output.find("fail alike") ==
          std::string::npos);
}

TEST_CASE("check: an unknown stamp is told in hex too, with those that are known", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    const std::string dump = rig.dump("one.syx", start_of_1 + preset("00", "03 00" + plain.substr(5)) + end);
    CHECK(checked(rig, dump)["presets"][0]["targets"][0]["reason"] ==
          "no release of the device stamps presets with 768 (300 hex); known are 258 (1.2), 260 (1.4)");
}

TEST_CASE("check: differences that nobody hears are set apart", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    const std::string dump = rig.dump("one.syx", start_of_1 + preset("00", plain + " 15 01 00") + end);
    const std::string output = rig.run({"check", dump, "--on", "1.2", "--detail"}).output;
    CHECK_THAT(output, ContainsSubstring("all 4 parameters as saved, but for 1 without a difference to hear"));
    CHECK_THAT(output, ContainsSubstring("without a difference to hear: 1 setting of echo lost (wobble)"));
}

TEST_CASE("check: a default beyond what its place can hold is warned of, and no error", "[cli]") {
    const SmallRig rig;
    describe_dipper(rig);
    rig.write("schemas/dipper/1.2.json", R"({ "format": "downfit release 1", "device": "dipper", "release": "1.2",
  "groups": { "echo": { "kind": "block" } },
  "parameters": { "echo.time": { "tag": 17, "as": "uint16", "range": [1, 700], "default": 350 },
                  "echo.tone": { "tag": 20, "range": [0, 100], "default": 50 },
                  "level": { "tag": 32, "unit": "dB", "scale": { "stored": [0, 127], "value": [-60, 67] }, "range": [-60, 12], "default": 600 } } })");
    const std::string dump = rig.dump("one.syx", start_of_1 + preset("00", plain) + end);
    const Ran ran = rig.run({"check", dump, "--on", "1.2"});
    CHECK(ran.status != 2);
    CHECK_THAT(ran.errors, ContainsSubstring("1.2.json"));
    CHECK_THAT(ran.errors,
               ContainsSubstring("warning: default 600 of level lies beyond what its place can hold: -60..195 dB"));
    CHECK(ran.errors.find("echo") == std::string::npos);
}

TEST_CASE("about: knows the words that reports print", "[cli]") {
    const SmallRig rig;
    for (const char* word : {"weight", "monitors down", "silent", "not stored", "right from", "doubt", "risk",
                             "standby", "unknown-choice", "missing-parameter", "level unknown", "verdict"}) {
        INFO(word);
        CHECK(rig.run({"about", word}).status == 0);
    }
    CHECK_THAT(rig.run({"about", "standby"}).output, ContainsSubstring("counts as slight"));
    CHECK_THAT(rig.run({"about", "slight"}).output, ContainsSubstring("standby"));
}

}  // namespace downfit::testing
