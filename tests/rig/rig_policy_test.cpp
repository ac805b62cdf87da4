// downfit rig --policy as a user runs it: what a policy lets pass on a rig, and what it cannot hide.
//
// The Wren (cli/small_rig.h): number 1 is Plate on 1.1 and Hall on 1.0, silently and at any level; number 2 is Hall on
// 1.1, and what 1.0 does with it no rule says.
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/golden.h"
#include "support/paths.h"
#include "support/run.h"

namespace downfit::testing {

namespace {

using Json = nlohmann::json;

constexpr const char* plate_accepted =
    R"({ "parameter": "mode", "outcome": "swapped", "weight": "severe", "cautions": ["level-unknown"], "reason": "a room is a room" })";

std::string policy(const std::string& accepted, const std::string& more = {}) {
    return R"({ "format": "downfit policy 1",)" + more + R"( "accepted": [)" + accepted + "] }";
}

/// One unit, "bo" on 1.0; Room in slot 1, Plate in 2, Hall in 3 of `a.syx`, all saved on 1.1.
struct OneUnit : SmallRig {
    OneUnit() { dump("a.syx", std::string(room_on_1_1) + plate_on_1_1 + hall_on_1_1); }

    void songs(const std::string& list,
               const std::string& units = R"({ "name": "bo", "device": "wren", "release": "1.0" })") const {
        write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "a": { "file": "a.syx" } }, "units": [)" + units +
                              R"(], "songs": [)" + list + "] }");
    }

    [[nodiscard]] Ran text(const std::vector<std::string>& more = {}) const {
        std::vector<std::string> call{"rig", "rig.json", "--policy", "policy.json", "--today", "2026-03-02"};
        call.insert(call.end(), more.begin(), more.end());
        return run(call);
    }

    [[nodiscard]] Json json(int status) const {
        const Ran ran = text({"--format", "json"});
        CAPTURE(ran.errors);
        REQUIRE(ran.status == status);
        return Json::parse(ran.output);
    }
};

}  // namespace

TEST_CASE("rig policy: what is accepted no longer fails, and looks no better", "[rig]") {
    const OneUnit rig;
    rig.songs(std::string(room_song) + ", " + plate_song);
    CHECK(rig.run({"rig", "rig.json"}).status == 1);
    rig.write("policy.json", policy(plate_accepted));
    const Ran ran = rig.text();
    CHECK(ran.errors == "");
    CHECK(ran.status == 0);
    check_golden(without_digests(ran.output, "  - downfit "), "rig/golden/policy.txt");

    const Json report = rig.json(0);
    const Json& flood = report["songs"][1];
    CHECK(flood["served"] == "nowhere");
    CHECK(flood["ruled"] == "within");
    CHECK(flood["units"][0]["play"] == "altered");
    CHECK(flood["units"][0]["caution"] == true);
    CHECK(flood["units"][0]["ruled"] == "within");
    CHECK(report["nowhere-as-saved"] == Json::array({1}));
    // A move is worth the same, and the smallest set is not smaller, for all that is let pass.
    CHECK(report["served-now"] == 1);
    CHECK(report["smallest-set"]["moves"].size() == 1);
    const Json& here = report["presets"][1]["units"][0];
    CHECK(here["verdict-left"] == "intact");
    CHECK(here["fails"] == false);
    REQUIRE(here["accepted"].size() == 1);
    CHECK(here["accepted"][0]["parameter"] == "mode");
    CHECK(here["accepted"][0]["accepted-by"] == 0);
    CHECK(report["policy"]["accepted"][0]["state"] == "holds");
    CHECK(report["policy"]["accepted"][0]["findings"] == 1);
    for (const char* format : {"html", "markdown"}) {
        const Ran page = rig.text({"--format", format});
        CHECK(page.status == 0);
        CHECK_THAT(page.output, ContainsSubstring("MONITORS DOWN"));
        CHECK_THAT(page.output, ContainsSubstring("accepted by item 1 of the policy: a room is a room"));
    }
}

TEST_CASE("rig policy: by the fingerprint that a check tells", "[rig]") {
    const OneUnit rig;
    rig.songs(plate_song);
    const Json checked = Json::parse(rig.run({"check", "a.syx", "--on", "1.0", "--format", "json"}).output);
    std::string fingerprint;
    for (const Json& preset : checked["presets"]) {
        for (const Json& finding : preset["targets"][0]["findings"]) {
            if (finding["outcome"] == "swapped") fingerprint = finding["fingerprint"];
        }
    }
    REQUIRE(fingerprint.size() == 16);
    const std::string rest = R"(", "weight": "severe", "cautions": ["level-unknown"], "reason": "looked at" })";
    rig.write("policy.json", policy(R"({ "fingerprint": ")" + fingerprint + rest));
    CHECK(rig.json(0)["presets"][0]["units"][0]["accepted"][0]["fingerprint"] == fingerprint);
    rig.write("policy.json", policy(R"({ "fingerprint": "0123456789abcdef)" + rest));
    CHECK(rig.json(1)["policy"]["accepted"][0]["state"] == "stale");
}

TEST_CASE("rig policy: lapsed and stale acceptances are told, and let nothing pass", "[rig]") {
    const OneUnit rig;
    rig.songs(plate_song);
    rig.write("policy.json", policy(R"(
  { "parameter": "mode", "weight": "audible", "reason": "was lighter then" },
  { "parameter": "mode", "outcome": "swapped", "weight": "severe", "reason": "no caution known" },
  { "parameter": "mode", "outcome": "swapped", "on": ["1.0"], "weight": "severe", "cautions": ["level-unknown"], "reason": "a while", "until": "2026-03-01" },
  { "preset": "No \u001b[31msuch", "weight": "severe", "reason": "gone" },
  { "parameter": "mode", "on": ["1.1"], "weight": "severe", "reason": "for a release that nobody runs" })"));
    const Ran late = rig.text({"--summary"});
    CHECK(late.status == 1);
    check_golden(late.output, "rig/golden/policy-lapsed.txt");
    const Json report = rig.json(1);
    std::vector<std::string> states;
    for (const Json& entry : report["policy"]["accepted"]) states.push_back(entry["state"]);
    CHECK(states == std::vector<std::string>{"lapsed", "lapsed", "lapsed", "stale", "not-met"});
    CHECK(report["policy"]["accepted"][0]["lapses"][0]["unit"] == "bo");
    CHECK(report["policy"]["accepted"][0]["lapses"][0]["why"] == "heavier");
    CHECK(report["policy"]["accepted"][1]["lapses"][0]["why"] == "caution");
    CHECK(report["policy"]["accepted"][2]["lapses"][0]["why"] == "date");
    CHECK(rig.run({"rig", "rig.json", "--policy", "policy.json", "--today", "2026-03-01"}).status == 0);
}

TEST_CASE("rig policy: what fails is said for each release", "[rig]") {
    const OneUnit rig;
    rig.songs(plate_song);
    const auto status = [&](const std::string& more) {
        rig.write("policy.json", policy("", more));
        return rig.text().status;
    };
    CHECK(status("") == 1);
    CHECK(status(R"("fails": "severe",)") == 1);
    CHECK(status(R"("fails": "refused",)") == 0);
    CHECK(status(R"("releases": {"1.0": {"fails": "refused"}},)") == 0);
    CHECK(status(R"("releases": {"1.1": {"fails": "refused"}},)") == 1);
}

TEST_CASE("rig policy: tolerances turn a pair, both ways", "[rig]") {
    const OneUnit rig;
    rig.write(
        "schemas/wren/1.0.json",
        R"({ "format": "downfit release 1", "device": "wren", "release": "1.0", "rules": {"off-step": "round"}, "parameters": {
    "volume": { "at": 0, "unit": "dB", "scale": { "stored": [0, 100], "value": [-80, 20] }, "range": [-80, -2], "role": "level", "step": 1 },
    "mode":   { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
    rig.write("schemas/wren/1.1.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0",
  "parameters": { "volume": { "range": [-80, 20] } } })");
    rig.songs(room_song);  // 0 dB, 2 dB too much on 1.0
    const auto play = [&](const std::string& more, int status) {
        rig.write("policy.json", policy("", more));
        return rig.json(status)["songs"][0]["units"][0]["play"].get<std::string>();
    };
    CHECK(play("", 0) == "near");
    CHECK(play(R"("tolerances": {"level": 0.5},)", 1) == "altered");
    CHECK(play(R"("tolerances": {"level": 2},)", 0) == "intact");
    // A policy that asks for more than what plays as saved: it plays, and is not within.
    CHECK(play(R"("fails": "near",)", 1) == "near");
    const Ran held_back = rig.text();
    CHECK_THAT(held_back.output, ContainsSubstring("~ near_"));
    CHECK_THAT(held_back.output, ContainsSubstring("the policy does not let it pass"));
    CHECK(play(R"("fails": "near", "tolerances": {"level": 2},)", 0) == "intact");
}

TEST_CASE("rig policy: a substitute that is let pass serves, with its caution", "[rig]") {
    const OneUnit rig;
    // Hall cannot be decided on 1.0; its substitute Plate is swapped there.
    rig.songs(
        R"({ "title": "Spring", "presets": [ { "dump": "a", "slot": 3, "substitutes": [ { "dump": "a", "slot": 2 } ] } ] })");
    rig.write("policy.json", policy(""));
    CHECK(rig.json(3)["songs"][0]["ruled"] == "undecided");
    rig.write("policy.json", policy(plate_accepted));
    const Json report = rig.json(0);
    CHECK(report["songs"][0]["units"][0]["play"] == "undecided");
    CHECK(report["songs"][0]["units"][0]["ruled"] == "within");
    CHECK(report["songs"][0]["units"][0]["caution"] == true);
    CHECK_THAT(rig.text({"--summary"}).output, ContainsSubstring("MONITORS DOWN before the first note of Spring"));
}

TEST_CASE("rig policy: refused and damaged presets stay what they are", "[rig]") {
    const OneUnit rig;
    rig.write("schemas/wren/1.0.json", R"({ "format": "downfit release 1", "device": "wren", "release": "1.0",
  "accepts": [{ "slot": { "above": 90 } }],
  "parameters": { "mode": { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
    rig.write(
        "schemas/wren/1.1.json",
        R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0", "accepts": [] })");
    rig.songs(room_song);
    rig.write("policy.json",
              policy(R"({ "parameter": "mode", "weight": "severe", "reason": "x" })", R"("fails": "refused",)"));
    CHECK(rig.json(1)["songs"][0]["units"][0]["play"] == "refused");
}

TEST_CASE("rig policy: what does not fit the rig is said, with the place", "[rig]") {
    const OneUnit rig;
    rig.songs(room_song);
    const auto errors = [&](const std::string& text) {
        rig.write("policy.json", text);
        const Ran ran = rig.text();
        CHECK(ran.status == 2);
        CHECK_THAT(ran.errors, ContainsSubstring("policy.json:1:"));
        return ran.errors;
    };
    CHECK_THAT(errors(policy("", R"("device": "finch",)")), ContainsSubstring("no unit of the rig is one"));
    CHECK_THAT(errors(policy("", R"("releases": {"9.0": {"fails": "near"}},)")), ContainsSubstring("9.0"));
    CHECK_THAT(errors(policy(R"({ "parameter": "mude", "weight": "slight", "reason": "x" })")),
               ContainsSubstring("did you mean \"mode\"?"));
    const Ran lonely = rig.run({"rig", "rig.json", "--today", "2026-03-02"});
    CHECK(lonely.status == 2);
    CHECK_THAT(lonely.errors, ContainsSubstring("--today goes with --policy"));
    rig.write("policy.json", policy(""));
    CHECK(rig.text({"--output", "policy.json", "--force"}).status == 2);
}

}  // namespace downfit::testing
