// downfit check --policy as a user runs it.
#include <nlohmann/json.hpp>
#include <string>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/golden.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

/// `accepted` items and whatever else, as a whole file.
std::string policy(const std::string& accepted, const std::string& more = {}) {
    return R"({ "format": "downfit policy 1",)" + more + R"( "accepted": [)" + accepted + "] }";
}

constexpr const char* plate_accepted =
    R"({ "parameter": "mode", "outcome": "swapped", "weight": "severe", "cautions": ["level-unknown"], "reason": "a room is a room" })";

}  // namespace

TEST_CASE("policy: what is accepted no longer fails and is told all the same", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1);
    rig.write("policy.json", policy(plate_accepted));
    const std::vector<std::string> call{"check",    bank,          "--on",    "1.0",
                                        "--policy", "policy.json", "--today", "2026-03-02"};
    const Ran ran = rig.run(call);
    CHECK(ran.status == 0);
    CHECK(ran.errors == "");
    CHECK_THAT(ran.output,
               ContainsSubstring("Policy policy.json: 2 of 2 presets within it; 1 finding accepted in 1 preset."));
    CHECK_THAT(ran.output, ContainsSubstring("MONITORS DOWN"));
    CHECK_THAT(ran.output, ContainsSubstring("1 changes severely"));
    CHECK_THAT(ran.output, ContainsSubstring("accepted: "));
    CHECK_THAT(ran.output, ContainsSubstring("; policy policy.json "));
    CHECK(rig.run({"check", bank, "--on", "1.0"}).status == 1);

    std::vector<std::string> detailed = call;
    detailed.push_back("--detail");
    CHECK_THAT(rig.run(detailed).output, ContainsSubstring("accepted by item 1 of the policy: a room is a room"));
}

TEST_CASE("policy: lapsed and stale acceptances are told", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1);
    rig.write("policy.json", policy(R"(
  { "parameter": "mode", "weight": "audible", "reason": "was lighter then" },
  { "parameter": "mode", "outcome": "swapped", "weight": "severe", "reason": "no caution known" },
  { "parameter": "mode", "outcome": "swapped", "on": ["1.0"], "weight": "severe", "cautions": ["level-unknown"], "reason": "a while", "until": "2026-03-01" },
  { "preset": "No \u001b[31msuch", "weight": "severe", "reason": "gone" })"));
    const std::vector<std::string> call{"check",    bank,          "--on",      "1.0",
                                        "--policy", "policy.json", "--summary", "--today"};
    const auto on = [&](const std::string& day) {
        std::vector<std::string> words = call;
        words.push_back(day);
        return rig.run(words);
    };
    const Ran late = on("2026-03-02");
    CHECK(late.status == 1);
    check_golden(late.output, "cli/golden/check-policy.txt");
    CHECK(on("2026-03-01").status == 0);
}

TEST_CASE("policy: which verdict fails, and how much is a difference", "[cli]") {
    const SmallRig rig;
    rig.write(
        "schemas/wren/1.0.json",
        R"({ "format": "downfit release 1", "device": "wren", "release": "1.0", "rules": {"off-step": "round"}, "parameters": {
    "volume": { "at": 0, "unit": "dB", "scale": { "stored": [0, 100], "value": [-80, 20] }, "range": [-80, -2], "role": "level", "step": 1 },
    "mode":   { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
    rig.write("schemas/wren/1.1.json",
              R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0",
  "parameters": { "volume": { "range": [-80, 20] } } })");
    const std::string bank = rig.dump("near.syx", room_on_1_1);  // 0 dB, 2 dB too much there
    const auto status = [&](const std::string& more) {
        rig.write("policy.json", policy("", more));
        return rig.run({"check", bank, "--on", "1.0", "--policy", "policy.json"}).status;
    };
    CHECK(rig.run({"check", bank, "--on", "1.0"}).status == 0);
    CHECK(status("") == 0);
    CHECK(status(R"("fails": "near",)") == 1);
    CHECK(status(R"("releases": {"1.0": {"fails": "near"}},)") == 1);
    CHECK(status(R"("releases": {"1.1": {"fails": "near"}},)") == 0);
    CHECK(status(R"("fails": "near", "tolerances": {"level": 2},)") == 0);
    CHECK(status(R"("tolerances": {"level": 0.5},)") == 1);
    CHECK(status(R"("fails": "severe", "tolerances": {"level": 0.5},)") == 0);
}

TEST_CASE("policy: damage and what is undecided stay what they are", "[cli]") {
    const SmallRig rig;
    rig.write("policy.json", policy("", R"("fails": "refused",)"));
    const auto status = [&](const std::string& dump) {
        return rig.run({"check", rig.dump("a.syx", dump), "--on", "1.0", "--policy", "policy.json"}).status;
    };
    CHECK(status(plate_on_1_1) == 0);
    CHECK(status(std::string(plate_on_1_1) + hall_on_1_1) == 3);
    CHECK(status(std::string(plate_on_1_1) + cut_short) == 2);
    rig.write("schemas/wren/1.0.json", R"({ "format": "downfit release 1", "device": "wren", "release": "1.0",
  "accepts": [{ "slot": { "above": 90 } }],
  "parameters": { "mode": { "at": 1, "choices": ["Room", "Hall"], "role": "model" } } })");
    rig.write(
        "schemas/wren/1.1.json",
        R"({ "format": "downfit release 1", "device": "wren", "release": "1.1", "extends": "1.0", "accepts": [] })");
    CHECK(status(room_on_1_1) == 1);
    rig.write("policy.json",
              policy(R"({ "parameter": "mode", "weight": "severe", "reason": "x" })", R"("fails": "refused",)"));
    CHECK(status(room_on_1_1) == 1);
}

TEST_CASE("policy: an unsure finding that was accepted is decided", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("hall.syx", hall_on_1_1);
    CHECK(rig.run({"check", bank, "--on", "1.0"}).status == 3);
    rig.write("policy.json",
              policy(R"({ "parameter": "mode", "outcome": "unsure", "weight": "severe", "reason": "any will do" })"));
    const Ran lapsed = rig.run({"check", bank, "--on", "1.0", "--policy", "policy.json"});
    CHECK(lapsed.status == 3);  // a rule may refuse the preset: nobody can accept that
    CHECK_THAT(lapsed.output, ContainsSubstring("level unknown"));
}

TEST_CASE("policy: JSON tells all of it", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", std::string(room_on_1_1) + plate_on_1_1);
    rig.write("policy.json",
              policy(std::string(plate_accepted) + R"(, { "parameter": "mode", "weight": "slight", "reason": "x" })",
                     R"("title": "Tour", "releases": {"1.1": {"fails": "near"}},)"));
    const Ran ran =
        rig.run({"check", bank, "--on", "1.0", "--policy", "policy.json", "--today", "2026-03-02", "--format", "json"});
    CHECK(ran.status == 0);
    const auto json = nlohmann::json::parse(ran.output);
    const auto& told = json["policy"];
    CHECK(told["file"] == "policy.json");
    CHECK(told["title"] == "Tour");
    CHECK(told["today"] == "2026-03-02");
    CHECK(told["fails"] == "altered");
    CHECK(told["releases"].dump() == R"([{"fails":"near","release":"1.1"}])");
    CHECK(told["tolerances"]["long-time"] == 2.5);
    CHECK(told["accepted"][0]["state"] == "holds");
    CHECK(told["accepted"][0]["findings"] == 1);
    CHECK(told["accepted"][1]["state"] == "lapsed");
    CHECK(
        told["accepted"][1]["lapses"].dump() ==
        R"([{"caution":null,"file":"bank.syx","name":"","parameter":"mode","release":"1.0","slot":2,"weight":"severe","why":"heavier"}])");
    const auto& target = json["presets"][1]["targets"][0];
    CHECK(target["verdict"] == "altered");
    CHECK(target["verdict-left"] == "intact");
    CHECK(target["weight-left"] == "none");
    CHECK(target["fails"] == false);
    CHECK(target["findings"][0]["accepted-by"] == 0);
    CHECK(json["summary"]["targets"][0]["failing"] == 0);

    const std::string print = target["findings"][0]["fingerprint"];
    rig.write("policy.json", policy(R"({ "fingerprint": ")" + print +
                                    R"(", "weight": "severe", "cautions": ["level-unknown"], "reason": "x" })"));
    CHECK(rig.run({"check", bank, "--on", "1.0", "--policy", "policy.json"}).status == 0);
}

TEST_CASE("policy: a policy that does not fit is an error", "[cli]") {
    const SmallRig rig;
    const std::string bank = rig.dump("bank.syx", room_on_1_1);
    const auto errors = [&](const std::string& text) {
        rig.write("policy.json", text);
        const Ran ran = rig.run({"check", bank, "--on", "1.0", "--policy", "policy.json"});
        CHECK(ran.status == 2);
        CHECK(ran.output == "");
        return ran.errors;
    };
    CHECK(errors(policy("", R"("device": "dunlin-6",)")) ==
          "policy.json:1:42: the policy is for \"dunlin-6\", the dumps are of \"wren\"\n    at /device\n"
          "    expected: a policy for this device, or one without \"device\"\n");
    CHECK_THAT(
        errors(policy("", R"("releases": {"1.00": {"fails": "near"}},)")),
        ContainsSubstring("wren has no release \"1.00\"\n    at /releases/1.00\n    expected: \"1.0\" or \"1.1\"\n"
                          "    did you mean \"1.0\"?"));
    CHECK_THAT(errors(policy(R"({ "parameter": "mode", "on": ["2.0"], "weight": "slight", "reason": "x" })")),
               ContainsSubstring("at /accepted/0/on/0"));
    CHECK_THAT(errors(policy(R"({ "parameter": "mod", "weight": "slight", "reason": "x" })")),
               ContainsSubstring("no release of wren has a parameter \"mod\"\n    at /accepted/0/parameter\n"
                                 "    expected: the id of a parameter\n    did you mean \"mode\"?"));
    CHECK_THAT(errors(rig.read("schemas/wren/1.0.json")), ContainsSubstring("expected: \"downfit policy 1\""));
    CHECK_THAT(rig.run({"check", bank, "--on", "1.0", "--policy", "none.json"}).errors, ContainsSubstring("none.json"));
    CHECK(rig.run({"check", bank, "--on", "1.0", "--policy", "none.json"}).status == 2);
    rig.write("policy.json", policy(""));
    CHECK_THAT(rig.run({"check", bank, "--on", "1.0", "--policy", "policy.json", "--today", "2026-02-30"}).errors,
               ContainsSubstring("--today cannot be \"2026-02-30\""));
    CHECK_THAT(rig.run({"check", bank, "--on", "1.0", "--today", "2026-02-28"}).errors,
               ContainsSubstring("--today goes with --policy"));
    CHECK(rig.run({"check", bank, "--on", "1.0", "--policy", "policy.json", "--output", "policy.json", "--force"})
              .status == 2);
    CHECK(rig.read("policy.json") == policy(""));
}

}  // namespace downfit::testing
