// downfit rig as a user runs it, on rigs so small that everything in the report was worked out by hand.
//
// The Wren (cli/small_rig.h): number 1 is Plate on 1.1 and Hall on 1.0; number 2 is Hall on 1.1, and what 1.0 does with
// it no rule says.
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/small_rig.h"
#include "support/catch.h"
#include "support/golden.h"

namespace downfit::testing {

namespace {

using Json = nlohmann::json;

constexpr const char* hall_on_1_0 = "F0 7D 09 00 01 50 01 F7\n";  // number 1 is Plate on 1.1

/// A rig file about `a.syx` (unit "ida" on 1.1) and `b.syx` (unit "bo" on 1.0), with these songs.
std::string rig_of(const std::string& songs, const std::string& more_of_bo = "") {
    return R"({ "format": "downfit rig 1", "title": "Small",
  "dumps": { "a": { "file": "a.syx" }, "b": { "file": "b.syx" } },
  "units": [ { "name": "ida", "device": "wren", "release": "1.1", "dumps": ["a"] },
             { "name": "bo", "whose": "Bo's", "device": "wren", "release": "1.0", "dumps": ["b"])" +
           more_of_bo + R"( } ],
  "songs": [)" +
           songs + "] }";
}

/// ida has Room in slot 1, Plate in 2, Hall in 3, all saved on 1.1; bo has Hall in slot 1, saved on 1.0.
struct TwoUnits : SmallRig {
    TwoUnits() {
        dump("a.syx", std::string(room_on_1_1) + plate_on_1_1 + hall_on_1_1);
        dump("b.syx", hall_on_1_0);
    }
};

constexpr const char* old_song = R"({ "title": "Slack", "presets": [ { "dump": "b", "slot": 1 } ] })";
constexpr const char* unsure_song = R"({ "title": "Spring", "presets": [ { "dump": "a", "slot": 3 } ] })";

Json report_of(const SmallRig& rig, int status) {
    const Ran ran = rig.run({"rig", "rig.json", "--format", "json"});
    CAPTURE(ran.errors);
    REQUIRE(ran.status == status);
    return Json::parse(ran.output);
}

std::vector<std::string> plays_of(const Json& song) {
    std::vector<std::string> plays;
    for (const Json& unit : song.at("units")) plays.push_back(unit.at("play"));
    return plays;
}

}  // namespace

TEST_CASE("rig: 0 where some unit plays every song", "[rig]") {
    const TwoUnits rig;
    rig.write("rig.json", rig_of(std::string(room_song) + ", " + plate_song + ", " + old_song));
    const Ran ran = rig.run({"rig", "rig.json"});
    CHECK(ran.status == 0);
    CHECK(ran.errors == "");
    check_golden(without_digests(ran.output, "  - downfit "), "rig/golden/two-units.txt");
}

TEST_CASE("rig: pairs, moves and worth as worked out by hand", "[rig]") {
    const TwoUnits rig;
    rig.write("rig.json", rig_of(std::string(room_song) + ", " + plate_song + ", " + old_song));
    const Json report = report_of(rig, 0);
    CHECK(plays_of(report["songs"][0]) == std::vector<std::string>{"intact", "intact"});
    CHECK(plays_of(report["songs"][1]) == std::vector<std::string>{"intact", "altered"});
    CHECK(plays_of(report["songs"][2]) == std::vector<std::string>{"undecided", "intact"});
    REQUIRE(report["moves"].size() == 2);
    // No rule says what 1.1 does with an older stamp: Slack on ida cannot be decided.
    // ida to 1.0: Slack starts, Flood stops; of its own, Plate no longer arrives, and Hall was sure and is not.
    const Json& down = report["moves"][0];
    CHECK(down["unit"] == "ida");
    CHECK(down["won"] == Json::array({3}));
    CHECK(down["lost"] == Json::array({2}));
    CHECK(down["own-lost"] == 2);
    CHECK(down["worth"] == -2);
    CHECK(down["served"] == 2);
    // bo to 1.1: Flood starts, Slack stops, and its own Hall with it.
    const Json& up = report["moves"][1];
    CHECK(up["unit"] == "bo");
    CHECK(up["won"] == Json::array({2}));
    CHECK(up["lost"] == Json::array({3}));
    CHECK(up["own-lost"] == 1);
    CHECK(up["worth"] == -1);
    CHECK(report["best-move"].is_null());
    CHECK(report["smallest-set"]["moves"].empty());
    CHECK(report["served-now"] == 3);
}

TEST_CASE("rig: 1 where no unit plays a song, and the move that would help", "[rig]") {
    const TwoUnits rig;
    // Only bo is there: Flood needs 1.1.
    rig.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "a": { "file": "a.syx" } },
  "units": [ { "name": "bo", "device": "wren", "release": "1.0" } ], "songs": [)" +
                              std::string(room_song) + ", " + plate_song + "] }");
    const Json report = report_of(rig, 1);
    CHECK(report["songs"][1]["served"] == "nowhere");
    CHECK(report["best-move"]["to"] == "1.1");
    CHECK(report["best-move"]["worth"] == 1);
    CHECK(report["smallest-set"]["moves"].size() == 1);
    const Ran text = rig.run({"rig", "rig.json", "--summary"});
    CHECK(text.status == 1);
    check_golden(text.output, "rig/golden/one-unit-summary.txt");
}

TEST_CASE("rig: a unit that is to stay is not moved", "[rig]") {
    const TwoUnits rig;
    rig.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "a": { "file": "a.syx" } },
  "units": [ { "name": "bo", "device": "wren", "release": "1.0", "stays": true } ], "songs": [)" +
                              std::string(plate_song) + "] }");
    const Json report = report_of(rig, 1);
    CHECK(report["moves"][0]["barrier"] == "stays");
    CHECK(report["best-move"].is_null());
    CHECK(report["smallest-set"]["on-no-release"] == Json::array({1}));
}

TEST_CASE("rig: a substitute serves, and is told apart", "[rig]") {
    const TwoUnits rig;
    rig.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "a": { "file": "a.syx" } },
  "units": [ { "name": "bo", "device": "wren", "release": "1.0" } ],
  "songs": [ { "title": "Flood", "presets": [ { "dump": "a", "slot": 2, "substitutes": [ { "dump": "a", "slot": 1 } ] } ] } ] })");
    const Json report = report_of(rig, 0);
    CHECK(report["songs"][0]["served"] == "by-substitute");
    CHECK(plays_of(report["songs"][0]) == std::vector<std::string>{"substitute"});
    CHECK(report["nowhere-as-saved"] == Json::array({0}));
    // The song is served, so that no move is needed; but one would let it be played as saved.
    CHECK(report["smallest-set"]["moves"].empty());
    CHECK(report["best-move"]["to"] == "1.1");
}

TEST_CASE("rig: 3 where it cannot be decided whether a song can be played", "[rig]") {
    const TwoUnits rig;
    rig.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "a": { "file": "a.syx" } },
  "units": [ { "name": "bo", "device": "wren", "release": "1.0" } ], "songs": [)" +
                              std::string(unsure_song) + "] }");
    CHECK(report_of(rig, 3)["songs"][0]["served"] == "undecided");
    // A song that no unit plays counts for more.
    rig.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "a": { "file": "a.syx" } },
  "units": [ { "name": "bo", "device": "wren", "release": "1.0" } ], "songs": [)" +
                              std::string(unsure_song) + ", " + plate_song + "] }");
    CHECK(rig.run({"rig", "rig.json"}).status == 1);
}

TEST_CASE("rig: 2 where a dump is damaged, whatever is played", "[rig]") {
    const TwoUnits rig;
    rig.dump("a.syx", std::string(room_on_1_1) + cut_short);
    rig.write("rig.json", rig_of(room_song));
    const Ran ran = rig.run({"rig", "rig.json"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.output, ContainsSubstring("a.syx is not whole"));
}

TEST_CASE("rig: what the rig names and is not there is told with its place", "[rig]") {
    const TwoUnits rig;
    struct Row {
        std::string songs, more_of_bo, says;
    };
    const std::vector<Row> rows{
        {R"({ "title": "x", "presets": [ { "dump": "a", "slot": 9 } ] })", "", "\"a\" holds no preset in slot 9"},
        {R"({ "title": "x", "presets": [ { "dump": "a", "name": "Ebb" } ] })", "", "holds no preset called \"Ebb\""},
        {R"({ "title": "x", "presets": [ { "dump": "a", "slot": 1, "name": "Ebb" } ] })", "",
         "slot 1 of \"a\" holds \"\", not \"Ebb\""},
        {room_song, R"(, "variant": "mini")", "wren has no variant \"mini\""},
    };
    for (const Row& row : rows) {
        rig.write("rig.json", rig_of(row.songs, row.more_of_bo));
        const Ran ran = rig.run({"rig", "rig.json"});
        CAPTURE(row.says, ran.errors);
        CHECK(ran.status == 2);
        CHECK(ran.output == "");
        CHECK_THAT(ran.errors, ContainsSubstring("rig.json:"));
        CHECK_THAT(ran.errors, ContainsSubstring(row.says));
    }
}

TEST_CASE("rig: units of devices and releases that there are not", "[rig]") {
    const TwoUnits rig;
    const auto refused = [&](const std::string& device, const std::string& release, const std::string& says) {
        rig.write("rig.json", R"({ "format": "downfit rig 1", "dumps": { "a": { "file": "a.syx" } },
  "units": [ { "name": "bo", "device": ")" +
                                  device + R"(", "release": ")" + release + R"(" } ], "songs": [)" + room_song + "] }");
        const Ran ran = rig.run({"rig", "rig.json"});
        CAPTURE(ran.errors);
        CHECK(ran.status == 2);
        CHECK_THAT(ran.errors, ContainsSubstring(says));
    };
    refused("wrem", "1.0", "did you mean \"wren\"?");
    refused("wren", "1.2", "wren has no release \"1.2\"");
    rig.write("schemas/finch/device.json", R"({
  "format": "downfit device 1", "device": "finch", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 0A {slot} {data...} F7" } },
                           "preset": ["preset"], "body": { "size": 1 } } } })");
    rig.write("schemas/finch/1.0.json",
              R"({ "format": "downfit release 1", "device": "finch", "release": "1.0", "stamp": 1 })");
    rig.write("rig.json", rig_of(room_song));
    rig.dump("b.syx", "F0 7D 0A 00 05 F7");
    const Ran ran = rig.run({"rig", "rig.json"});
    CHECK(ran.status == 2);
    CHECK_THAT(ran.errors, ContainsSubstring("\"b\" is a dump of finch, but the unit \"bo\" is a wren"));
}

TEST_CASE("rig: the call", "[rig]") {
    const TwoUnits rig;
    rig.write("rig.json", rig_of(room_song));
    CHECK(rig.run({"rig"}).status == 2);
    CHECK(rig.run({"rig", "none.json"}).status == 2);
    CHECK(rig.run({"rig", "rig.json", "--format", "sarif"}).status == 2);
    CHECK(rig.run({"rig", "rig.json", "--format", "json", "--summary"}).status == 2);
    CHECK(rig.run({"rig", "rig.json", "--output", "a.syx", "--force"}).status == 2);
    CHECK(rig.run({"rig", "rig.json", "--output", "rig.json", "--force"}).status == 2);
    CHECK(rig.run({"rig", "rig.json", "--output", "out.md", "--format", "markdown"}).status == 0);
    CHECK_THAT(rig.read("out.md"), ContainsSubstring("| 1. Ebb | = intact | = intact |"));
    CHECK_THAT(rig.run({"rig", "rig.json", "--format", "html"}).output, ContainsSubstring("<span class=\"mark I\">"));
}

TEST_CASE("rig: hostile names cannot steer a terminal, a table or a page", "[rig]") {
    const TwoUnits rig;
    rig.write("rig.json", R"({ "format": "downfit rig 1", "title": "\u001b[2J<script>|`x`",
  "dumps": { "a": { "file": "a.syx" } },
  "units": [ { "name": "\u202eida|", "whose": "<img src=x>\u0007", "device": "wren", "release": "1.0" } ],
  "songs": [ { "title": "<b>\u001b]0;x\u0007|\n# @all", "presets": [ { "dump": "a", "slot": 2 } ] } ] })");
    for (const std::string format : {"text", "markdown", "html", "json"}) {
        const Ran ran = rig.run({"rig", "rig.json", "--format", format});
        CAPTURE(format, ran.output);
        CHECK(ran.status == 1);
        for (const char* bad : {"\x1B", "\x07", "\xE2\x80\xAE"}) CHECK(ran.output.find(bad) == std::string::npos);
        if (format == "html") CHECK(ran.output.find("<b>") == ran.output.npos);
        if (format == "html") CHECK(ran.output.find("<img") == ran.output.npos);
        if (format == "markdown") CHECK(ran.output.find(" <b>") == ran.output.npos);
        if (format == "markdown") CHECK(ran.output.find("\n# @") == ran.output.npos);
    }
}

}  // namespace downfit::testing
