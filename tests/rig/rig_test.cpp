// What limits moves, and what units lack, on a device of four releases made for it.
//
// The Finch has five models. Its 1.0 knows two of them, 2.0 three, 3.0 four and 4.0 all; a number that a release does
// not know is held at its last. So a preset with model n arrives on the releases that know n, and nowhere else.
#include <nlohmann/json.hpp>
#include <string>

#include "cli/small_rig.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using Json = nlohmann::json;

struct Finch : SmallRig {
    Finch() {
        write("schemas/finch/device.json", R"({
  "format": "downfit device 1", "device": "finch",
  "releases": [{"release": "1.0", "stamp": 1}, {"release": "2.0", "stamp": 2}, {"release": "3.0", "stamp": 3}, {"release": "4.0", "stamp": 4}],
  "variants": { "old": {}, "late": { "oldest-release": "2.0" } },
  "assets": { "impulse": { "title": "impulse response", "first": 1, "count": 8 } },
  "layouts": {
    "preset": { "messages": { "preset": { "bytes": "F0 7D 0B {slot} {stamp} {data...} F7" } },
                "preset": ["preset"], "body": { "size": 2 } },
    "impulse": { "holds": { "asset": "impulse" }, "messages": { "impulse": { "bytes": "F0 7D 0C {slot} {name:4} F7" } },
                 "preset": ["impulse"], "body": { "size": 0 } } },
  "rules": { "unknown-choice": "clamp", "newer-stamp": "load", "older-stamp": "load" } })");
        write("schemas/finch/1.0.json", release("1.0", R"("parameters": {
    "model": { "at": 0, "choices": ["A", "B"], "role": "model" },
    "impulse": { "at": 1, "refers-to": "impulse", "nothing": 0 } })"));
        write("schemas/finch/2.0.json",
              release("2.0", R"("extends": "1.0", "parameters": { "model": { "choices": { "add": { "C": 2 } } } })"));
        write("schemas/finch/3.0.json",
              release("3.0", R"("extends": "2.0", "returns-to": "2.0", "erases": ["Everything."],
    "parameters": { "model": { "choices": { "add": { "D": 3 } } } })"));
        write("schemas/finch/4.0.json", release("4.0", R"("extends": "3.0", "returns-to": "3.0", "erases": [],
    "parameters": { "model": { "choices": { "add": { "E": 4 } } } })"));
        // Slots 1 to 5 hold models A to E, all saved on 4.0; 6 and 7 hold A with impulse responses 2 and 3.
        dump("all.syx",
             "F0 7D 0B 00 04 00 00 F7 F0 7D 0B 01 04 01 00 F7 F0 7D 0B 02 04 02 00 F7 F0 7D 0B 03 04 03 00 F7\n"
             "F0 7D 0B 04 04 04 00 F7 F0 7D 0B 05 04 00 02 F7 F0 7D 0B 06 04 00 03 F7\n");
        dump("full.syx", "F0 7D 0C 01 41 41 41 41 F7 F0 7D 0C 02 42 42 42 42 F7\n");  // 2 is AAAA, 3 is BBBB
        dump("other.syx", "F0 7D 0C 01 43 43 43 43 F7\n");                            // 2 is CCCC
    }

    static std::string release(const std::string& name, const std::string& rest) {
        return R"({ "format": "downfit release 1", "device": "finch", "release": ")" + name + "\", " + rest + " }";
    }

    /// Runs a rig of these units and songs, one preset each.
    [[nodiscard]] Json report(const std::string& units, const std::vector<int>& slots, int status) const {
        std::string songs;
        for (const int slot : slots)
            songs += (songs.empty() ? "" : ", ") +
                     std::string(R"({ "title": "s", "presets": [ { "dump": "all", "slot": )") + std::to_string(slot) +
                     " } ] }";
        write("rig.json", R"({ "format": "downfit rig 1",
  "dumps": { "all": { "file": "all.syx" }, "full": { "file": "full.syx" }, "other": { "file": "other.syx" } },
  "units": [)" + units + R"(], "songs": [)" +
                              songs + "] }");
        const Ran ran = run({"rig", "rig.json", "--format", "json"});
        CAPTURE(ran.errors);
        REQUIRE(ran.status == status);
        return Json::parse(ran.output);
    }
};

std::string unit(const std::string& name, const std::string& release, const std::string& more = "") {
    return R"({ "name": ")" + name + R"(", "device": "finch", "release": ")" + release + '"' + more + " }";
}

/// "1.0: none, 2.0: hardware" of a unit's moves.
std::string barriers(const Json& report) {
    std::string text;
    for (const Json& move : report.at("moves"))
        text += (text.empty() ? "" : ", ") + move.at("to").get<std::string>() + ": " +
                (move.at("barrier").is_null() ? "open" : move.at("barrier").get<std::string>());
    return text;
}

std::string moves_of(const Json& moves) {
    std::string text;
    for (const Json& move : moves)
        text +=
            (text.empty() ? "" : ", ") + move.at("unit").get<std::string>() + " to " + move.at("to").get<std::string>();
    return text;
}

}  // namespace

TEST_CASE("rig: a release goes back only so far, and a variant's hardware takes only so old a one", "[rig]") {
    const Finch finch;
    CHECK(barriers(finch.report(unit("u", "4.0", R"(, "variant": "old")"), {1}, 0)) ==
          "1.0: no-way-back, 2.0: no-way-back, 3.0: open");
    CHECK(barriers(finch.report(unit("u", "3.0", R"(, "variant": "old")"), {1}, 0)) ==
          "1.0: no-way-back, 2.0: open, 4.0: open");
    CHECK(barriers(finch.report(unit("u", "2.0", R"(, "variant": "old")"), {1}, 0)) ==
          "1.0: open, 3.0: open, 4.0: open");
    CHECK(barriers(finch.report(unit("u", "2.0", R"(, "variant": "late")"), {1}, 0)) ==
          "1.0: hardware, 3.0: open, 4.0: open");
}

TEST_CASE("rig: a unit cannot run what its hardware does not take", "[rig]") {
    const Finch finch;
    finch.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "all": { "file": "all.syx" } },
  "units": [)" + unit("u", "1.0", R"(, "variant": "late")") +
                                R"(], "songs": [ { "title": "s", "presets": [ { "dump": "all", "slot": 1 } ] } ] })");
    const Ran ran = finch.run({"rig", "rig.json"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.errors, ContainsSubstring("the hardware of late takes no release before 2.0"));
}

TEST_CASE("rig: the nearest release that brings as much is the best move, with what installing it means", "[rig]") {
    const Finch finch;
    // On 1.0 models A and B play; 3.0 brings C and D, 4.0 no more of what is asked for.
    const Json report = finch.report(unit("u", "1.0", R"(, "variant": "old")"), {1, 2, 3, 4}, 1);
    const Json& best = report["best-move"];
    CHECK(best["to"] == "3.0");
    CHECK(best["won"] == Json::array({3, 4}));
    CHECK(best["no-way-back"] == true);
    CHECK(best["erases"] == Json::array({"Everything."}));
    CHECK(moves_of(report["smallest-set"]["moves"]) == "u to 3.0");
    const std::string text = finch.run({"rig", "rig.json"}).output;
    CHECK_THAT(text, ContainsSubstring("No way back: from 3.0 it does not go back to 1.0."));
    CHECK_THAT(text, ContainsSubstring("Installing 3.0: Everything."));
    CHECK_THAT(text, ContainsSubstring("the maker's own instructions come first"));
}

TEST_CASE("rig: where the variant is not said, the worst of all is told", "[rig]") {
    const Finch finch;
    // A unit of the variant "late" would not take 1.0 at all; nothing bars the move, but nothing plays there for sure.
    const Json report = finch.report(unit("u", "2.0"), {1}, 0);
    CHECK(barriers(report) == "1.0: open, 3.0: open, 4.0: open");
    CHECK(report["presets"][0]["units"][0]["by-release"]["1.0"] == "refused");
    CHECK(report["moves"][0]["lost"] == Json::array({1}));
}

TEST_CASE("rig: of two units one move does for both songs that wait", "[rig]") {
    const Finch finch;
    // D and E are played by nobody. Both units could go to 4.0; v has presets of its own, which all arrive there.
    const std::string units = unit("u", "2.0") + ", " + unit("v", "3.0", R"(, "dumps": ["all"])");
    const Json report = finch.report(units, {3, 4, 5}, 1);
    // v plays C and D already; E alone waits: v to 4.0 wins one pair, u to 4.0 two (D and E), u to 3.0 one.
    CHECK(report["best-move"]["unit"] == "u");
    CHECK(report["best-move"]["to"] == "4.0");
    CHECK(report["best-move"]["worth"] == 2);
    CHECK(moves_of(report["smallest-set"]["moves"]) == "u to 4.0");
    // v on 3.0: its own E does not arrive; on 4.0 it does.
    for (const Json& move : report["moves"]) {
        if (move["unit"] == "v" && move["to"] == "4.0") CHECK(move["own-won"] == 1);
        if (move["unit"] == "v" && move["to"] == "2.0") CHECK(move["own-lost"] == 1);
    }
}

TEST_CASE("rig: a song does as well as the worst of its presets", "[rig]") {
    const Finch finch;
    finch.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "all": { "file": "all.syx" } },
  "units": [)" + unit("u", "2.0") +
                                R"(],
  "songs": [ { "title": "s", "presets": [ { "dump": "all", "slot": 1 }, { "dump": "all", "slot": 4 }, { "dump": "all", "slot": 3 } ] } ] })");
    const Json report = Json::parse(finch.run({"rig", "rig.json", "--format", "json"}).output);
    CHECK(report["songs"][0]["units"][0]["play"] == "altered");
    CHECK_THAT(report["songs"][0]["units"][0]["reason"].get<std::string>(), ContainsSubstring("slot 4"));
    CHECK(report["nowhere-as-saved"] == Json::array({1}));
}

TEST_CASE("rig: a preset that a release refuses with the whole dump takes the others of its dump along", "[rig]") {
    const Finch finch;
    finch.write("schemas/finch/2.0.json", Finch::release("2.0", R"("parameters": {
    "model": { "at": 0, "choices": ["A", "B", "C"], "role": "model", "rules": { "unknown-choice": "refuse", "refuses": "dump" } },
    "impulse": { "at": 1, "refers-to": "impulse", "nothing": 0 } })"));
    finch.write("schemas/finch/3.0.json", Finch::release("3.0", R"("extends": "2.0", "returns-to": "2.0",
    "parameters": { "model": { "choices": { "add": { "D": 3 } }, "rules": { "refuses": "preset" } } })"));
    // Model D of slot 4 is refused by 2.0, and A of slot 1 with it; 3.0 refuses E alone; on 1.0 nothing is refused.
    const Json report = finch.report(unit("u", "2.0", R"(, "variant": "old", "dumps": ["all"])"), {1}, 1);
    const Json& there = report["presets"][0]["units"][0];
    CHECK(there["by-release"] == Json({{"1.0", "intact"}, {"2.0", "refused"}, {"3.0", "intact"}, {"4.0", "intact"}}));
    CHECK(report["songs"][0]["units"][0]["play"] == "refused");
    CHECK(report["songs"][0]["units"][0]["reason"].get<std::string>().find(
              "the whole dump is refused for slot 4: it does not take the stored number of model") !=
          std::string::npos);
    // None of its seven presets arrives as it is; on 3.0 all but one do, on 1.0 four (A three times, and B).
    for (const Json& move : report["moves"]) {
        if (move["to"] == "1.0") CHECK(move["own-won"] == 4);
        if (move["to"] == "3.0") CHECK(move["own-won"] == 6);
        if (move["to"] == "4.0") CHECK(move["own-won"] == 7);
    }
    // A check of the dump says the same.
    const Ran check = finch.run({"check", "all.syx", "--on", "2.0", "--variant", "old", "--format", "json"});
    for (const Json& preset : Json::parse(check.output)["presets"]) CHECK(preset["targets"][0]["verdict"] == "refused");
}

TEST_CASE("rig: what a unit lacks, what it holds in another's place, and what was not seen", "[rig]") {
    const Finch finch;
    const std::string owner = unit("owner", "4.0", R"(, "dumps": ["all", "full"])");
    const Json report = finch.report(
        owner + ", " + unit("bare", "4.0", R"(, "dumps": ["other"])") + ", " + unit("dark", "4.0"), {6, 7}, 0);
    const auto assets = [&](std::size_t preset, std::size_t at) {
        return report["presets"][preset]["units"][at]["assets"];
    };
    CHECK(assets(0, 0).empty());
    CHECK(assets(0, 1) ==
          Json::array(
              {{{"asset", "impulse"}, {"slot", 2}, {"name", "AAAA"}, {"state", "another-there"}, {"there", "CCCC"}}}));
    CHECK(
        assets(1, 1) ==
        Json::array({{{"asset", "impulse"}, {"slot", 3}, {"name", "BBBB"}, {"state", "missing"}, {"there", nullptr}}}));
    CHECK(assets(0, 2)[0]["state"] == "not-known");
    CHECK(report["songs"][0]["units"][1]["assets-lacking"] == true);
    CHECK(report["songs"][0]["units"][2]["assets-lacking"] == false);
    CHECK(report["songs"][0]["units"][2]["assets-not-known"] == true);
    // Where only the bare unit is there, the songs cannot be played before something is put in.
    const Json alone = finch.report(unit("bare", "4.0", R"(, "dumps": ["other"])"), {7}, 1);
    CHECK(alone["songs"][0]["served"] == "assets-lacking");
    // A dump in the call is what every unit holds besides.
    CHECK(finch.run({"rig", "rig.json", "full.syx"}).status == 0);
}

}  // namespace downfit::testing
