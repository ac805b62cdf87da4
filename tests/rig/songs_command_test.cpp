// downfit check --songs: tonight's presets first, in playing order.
#include <nlohmann/json.hpp>
#include <string>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/golden.h"

namespace downfit::testing {

namespace {

/// Flood (slot 2) before Ebb (slot 1), and a song of a dump that is not given.
struct Evening : SmallRig {
    Evening() {
        dump("a.syx", std::string(room_on_1_1) + plate_on_1_1);
        songs(
            R"({ "title": "Flood", "presets": [ { "dump": "a", "slot": 2, "substitutes": [ { "dump": "a", "slot": 1 } ] } ] },
               { "title": "Ebb", "presets": [ { "dump": "a", "slot": 1 } ] },
               { "title": "Elsewhere", "presets": [ { "dump": "b", "name": "Far \u001b[2J" } ] })");
    }

    void songs(const std::string& list) const {
        write("rig.json", R"({ "format": "downfit rig 1", "title": "Tonight's",
  "dumps": { "a": { "file": "somewhere/a.syx" }, "b": { "file": "b.syx" } },
  "units": [ { "name": "u", "device": "wren", "release": "1.0" } ], "songs": [)" +
                              list + "] }");
    }
};

}  // namespace

TEST_CASE("check --songs: tonight's presets come first, in playing order", "[rig]") {
    const Evening evening;
    const Ran ran = evening.run({"check", "a.syx", "--on", "1.0", "--songs", "rig.json"});
    CHECK(ran.status == 1);
    CHECK(ran.errors == "");
    check_golden(without_digests(ran.output), "rig/golden/songs.txt");
    const Ran two = evening.run({"check", "a.syx", "--on", "1.0,1.1", "--songs", "rig.json"});
    CHECK(two.status == 1);
    check_golden(without_digests(two.output), "rig/golden/songs-two-releases.txt");
}

TEST_CASE("check --songs: every format for people has them, and JSON", "[rig]") {
    const Evening evening;
    CHECK_THAT(evening.run({"check", "a.syx", "--on", "1.0", "--songs", "rig.json", "--format", "markdown"}).output,
               ContainsSubstring("| 1. Flood | 2 | (no name) | severe! | mode Plate"));
    CHECK_THAT(evening.run({"check", "a.syx", "--on", "1.0", "--songs", "rig.json", "--format", "html"}).output,
               ContainsSubstring("1. Flood"));
    const auto report = nlohmann::json::parse(
        evening.run({"check", "a.syx", "--on", "1.0", "--songs", "rig.json", "--format", "json"}).output);
    const auto& list = report["tonight"]["presets"];
    REQUIRE(list.size() == 4);
    CHECK(list[0]["preset"] == 1);
    CHECK(list[1]["substitute"] == true);
    CHECK(list[2]["preset"] == 0);
    CHECK(list[3]["preset"].is_null());
}

TEST_CASE("check --songs: what is not in a dump that was given is a mistake in the rig file", "[rig]") {
    const Evening evening;
    evening.songs(R"({ "title": "x", "presets": [ { "dump": "a", "slot": 5 } ] })");
    const Ran ran = evening.run({"check", "a.syx", "--on", "1.0", "--songs", "rig.json"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.errors, ContainsSubstring("rig.json:3:"));
    CHECK_THAT(ran.errors, ContainsSubstring("a.syx holds no preset that is slot 5"));
    // With a filter it may only have been left out.
    CHECK(evening.run({"check", "a.syx", "--on", "1.0", "--slot", "1", "--songs", "rig.json"}).status == 0);
}

TEST_CASE("check --songs: a broken rig file stops it, and a report never replaces one", "[rig]") {
    const Evening evening;
    CHECK(evening.run({"check", "a.syx", "--on", "1.0", "--songs", "none.json"}).status == 2);
    CHECK(evening.run({"check", "a.syx", "--on", "1.0", "--songs", "rig.json", "--output", "rig.json", "--force"})
              .status == 2);
    evening.write("rig.json", "{ \"format\": \"downfit rig 1\" }");
    const Ran ran = evening.run({"check", "a.syx", "--on", "1.0", "--songs", "rig.json"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.errors, ContainsSubstring("\"dumps\" is missing"));
}

}  // namespace downfit::testing
