// The demo's rig against what its generator worked out from its own tables (demo/generate/rig.py): who plays what, what
// each move would bring, and the smallest set of moves, there by trying every combination.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"
#include "support/run.h"

namespace downfit::testing {

namespace {

using Json = nlohmann::json;

const Json& report() {
    static const Json json = [] {
        const Ran ran = run_downfit({"rig", "demo/rig.json", "--schemas", "schemas", "--format", "json"},
                                    {{}, {}, project_folder()});
        // Three songs are played by nobody on the units as they are.
        CHECK(ran.status == 1);
        CHECK(ran.errors == "");
        return Json::parse(ran.output);
    }();
    return json;
}

const Json& planted() {
    static const Json json = Json::parse(read_text(project_folder() / "demo" / "planted-rig.json"));
    return json;
}

}  // namespace

TEST_CASE("the demo's rig: every song on every unit is as planted", "[rig]") {
    REQUIRE(report()["songs"].size() == planted()["pairs"].size());
    for (std::size_t song = 0; song < planted()["pairs"].size(); ++song) {
        Json plays = Json::array();
        for (const Json& unit : report()["songs"][song]["units"]) plays.push_back(unit["play"]);
        CAPTURE(song);
        CHECK(plays == planted()["pairs"][song]);
    }
}

TEST_CASE("the demo's rig: every move brings and costs what was planted", "[rig]") {
    REQUIRE(report()["moves"].size() == planted()["moves"].size());
    for (std::size_t i = 0; i < planted()["moves"].size(); ++i) {
        const Json& told = report()["moves"][i];
        const Json& move = planted()["moves"][i];
        CAPTURE(move.dump(), told.dump());
        CHECK(told["unit"] == move["unit"]);
        CHECK(told["to"] == move["to"]);
        CHECK(told["barrier"].is_null() == move["open"].get<bool>());
        for (const char* key : {"won", "lost", "own-lost", "worth"}) CHECK(told[key] == move[key]);
    }
}

TEST_CASE("the demo's rig: the best move and the smallest set are among those planted", "[rig]") {
    const auto same = [](const Json& move) {
        return std::pair(move["unit"].get<std::string>(), move["to"].get<std::string>());
    };
    std::set<std::pair<std::string, std::string>> best;
    for (const Json& move : planted()["best"]) best.insert(same(move));
    REQUIRE(!best.empty());
    CHECK(best.contains(same(report()["best-move"])));
    Json smallest = Json::array();
    for (const Json& move : report()["smallest-set"]["moves"])
        smallest.push_back(Json::array({move["unit"], move["to"]}));
    CHECK(report()["smallest-set"]["exact"] == true);
    const Json& all = planted()["smallest"];
    CHECK(std::find(all.begin(), all.end(), smallest) != all.end());
    const std::size_t missing =
        report()["smallest-set"]["on-no-release"].size() + report()["smallest-set"]["not-together"].size();
    CHECK(report()["songs"].size() - missing == planted()["served"].get<std::size_t>());
}

TEST_CASE("the demo's rig: the spare lacks what its own dump of names does not have", "[rig]") {
    std::set<std::string> states;
    for (const Json& preset : report()["presets"]) {
        for (const Json& asset : preset["units"][3]["assets"]) {
            states.insert(asset["state"]);
            if (asset["state"] == "missing") CHECK(asset["slot"].get<int>() > 40);
            if (asset["state"] == "another-there") CHECK(asset["there"] == "Van Door");
        }
        CHECK(preset["units"][0]["assets"].empty());
    }
    CHECK(states.contains("missing"));
}

}  // namespace downfit::testing
