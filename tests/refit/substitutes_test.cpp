// `downfit refit --substitutes`: what stands where a release lacks a choice, end to end.
#include <filesystem>

#include <nlohmann/json.hpp>

#include "refit/run_refit.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/temp_dir.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

using Json = nlohmann::json;

/// Substitutes for the Dunlin 6 with these items.
std::string substitutes_file(const TempDir& folder, const std::string& items, const std::string& device = "dunlin-6") {
    const auto path = folder / "mine.json";
    write_text(path, R"({ "format": "downfit substitutes 1", "device": ")" + device + "\",\n  \"substitutes\": [ " +
                         items + " ] }\n");
    return path.string();
}

/// What the presets of a dump have there, by slot.
std::string contents_of(const std::string& dump, int slot) {
    return run_downfit(
               {"contents", dump, "--slot", std::to_string(slot), "--schemas", (project_folder() / "schemas").string()})
        .output;
}

Json preset_in(const Json& report, int slot) {
    for (const Json& preset : report.at("presets")) {
        if (preset.at("slot") == slot) return preset;
    }
    return {};
}

}  // namespace

TEST_CASE("a drive that a release lacks becomes the one that the user chose", "[refit][substitutes][heavy]") {
    const TempDir folder;
    const std::string chosen = (project_folder() / "demo" / "substitutes.json").string();
    const std::string plain = (folder / "plain.syx").string();
    const std::string out = (folder / "out.syx").string();
    REQUIRE(run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", plain}).status == 1);
    CHECK(!says(contents_of(plain, 81), "Wool Fuzz"));
    const Ran ran =
        run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", out, "--substitutes", chosen, "--format", "json"});
    CHECK(ran.errors.empty());
    CHECK(ran.status == 1);
    CHECK(says(contents_of(out, 81), "Wool Fuzz"));
    const Json report = Json::parse(ran.output);
    const Json& told = report.at("substitutes");
    CHECK(told.at("file") == chosen);
    REQUIRE(told.at("substitutes").size() == 2);  // the others are for older releases
    CHECK(told.at("substitutes")[0].at("lost") == "Paper Fuzz");
    CHECK(told.at("substitutes")[0].at("reason") == "the nearest, by ear");
    CHECK(told.at("substitutes")[0].at("presets") >= 1);
    CHECK(told.at("substitutes")[1].at("presets") == 0);
    const Json preset = preset_in(report, 81);
    CHECK(preset.at("name") == "Old Paper");
    CHECK(preset.at("fate") == "written");
    CHECK(preset.at("substituted") == Json::array({"drive[1].alternate[1].model"}));
    std::size_t with = 0;
    for (const Json& one : report.at("presets")) with += one.at("substituted").empty() ? 0U : 1U;
    CHECK(told.at("substitutes")[0].at("presets") == with);
    SECTION("the text tells it too, and once more changes nothing") {
        const std::string twice = (folder / "twice.syx").string();
        const Ran text = run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", twice, "--substitutes", chosen});
        CHECK(says(text.output, "put by your substitutes, "));
        CHECK(says(text.output, "drive.alternate.model: \"Wool Fuzz\" instead of \"Paper Fuzz\": "));
        CHECK(says(text.output, "\"Velvet Fuzz\" instead of \"Long Fuse\": not used"));
        CHECK(read_bytes(twice) == read_bytes(out));
        const std::string again = (folder / "again.syx").string();
        const Ran third = run_refit({out, "--on", "3.10", "--out", again, "--substitutes", chosen});
        CHECK(says(third.output, "\"Wool Fuzz\" instead of \"Paper Fuzz\": not used"));
        CHECK(read_bytes(again) == read_bytes(out));
    }
}

TEST_CASE("of substitutes the first that fits and holds is taken", "[refit][substitutes][heavy]") {
    const TempDir folder;
    const std::string out = (folder / "out.syx").string();
    const auto drive_with = [&](const std::string& items) {
        const Ran ran = run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", out, "--force", "--substitutes",
                                   substitutes_file(folder, items)});
        CHECK(ran.errors.empty());
        return contents_of(out, 81);
    };
    const std::string all = R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz", "instead": "Wool Fuzz" })";
    const std::string own =
        R"({ "parameter": "drive[1].alternate.model", "lost": "Paper Fuzz", "instead": "Velvet Fuzz" })";
    const std::string other =
        R"({ "parameter": "drive[2].alternate.model", "lost": "Paper Fuzz", "instead": "Gravel" })";
    const std::string older = R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz", "instead": "Rust", )"
                              R"("on": ["2.10", "3.00"] })";
    CHECK(says(drive_with(all + ", " + own), "Wool Fuzz"));
    CHECK(says(drive_with(own + ", " + all), "Velvet Fuzz"));
    CHECK(says(drive_with(other + ", " + all), "Wool Fuzz"));
    const std::string without = drive_with(older);
    CHECK(!says(without, "Rust"));
    CHECK(!says(without, "Wool Fuzz"));
}

TEST_CASE("a release that has the choice gets no substitute", "[refit][substitutes][heavy]") {
    const TempDir folder;
    const std::string out = (folder / "out.syx").string();
    const Ran ran = run_refit(
        {demo("bank-d.syx"), "--on", "2.00", "--out", out, "--substitutes",
         substitutes_file(
             folder, R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz", "instead": "Wool Fuzz" })")});
    CHECK(says(ran.output, "not used"));
    CHECK(says(contents_of(out, 81), "Paper Fuzz"));
}

TEST_CASE("substitutes that do not fit the device or the release are told before anything is written",
          "[refit][substitutes]") {
    const TempDir folder;
    const std::string out = (folder / "out.syx").string();
    const auto fails = [&](const std::string& items, const std::vector<std::string>& words,
                           const std::string& device = "dunlin-6") {
        const Ran ran = run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", out, "--substitutes",
                                   substitutes_file(folder, items, device)});
        CAPTURE(items, ran.output, ran.errors);
        CHECK(ran.status == 2);
        CHECK(says(ran.errors, "mine.json:"));
        for (const std::string& word : words) CHECK(says(ran.errors, word));
        CHECK(!std::filesystem::exists(out));
    };
    fails("", {"the substitutes are for \"pipit\", the dump is of \"dunlin-6\""}, "pipit");
    fails(R"({ "parameter": "drive.alternate.modle", "lost": "Paper Fuzz", "instead": "Wool Fuzz" })",
          {"no release of dunlin-6 has a parameter \"drive.alternate.modle\"", "did you mean",
           "\"drive.alternate.model\""});
    fails(R"({ "parameter": "drive.alternate.gain", "lost": "Paper Fuzz", "instead": "Wool Fuzz" })",
          {"has no choices, and refers to no asset"});
    fails(R"({ "parameter": "drive.alternate.model", "lost": "Papre Fuzz", "instead": "Wool Fuzz" })",
          {"no release of dunlin-6 has \"Papre Fuzz\" for \"drive.alternate.model\"", "did you mean \"Paper Fuzz\"?"});
    fails(R"({ "parameter": "drive.alternate.model", "lost": 7, "instead": "Wool Fuzz" })",
          {"no release of dunlin-6 has 7 for", "the label of one of its choices"});
    fails(R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz", "instead": "Wol Fuzz" })",
          {"dunlin-6 3.10 has no \"Wol Fuzz\" for", "did you mean \"Wool Fuzz\"?"});
    fails(R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz", "instead": "Nothing like it" })",
          {"\"on\" says for which releases a substitute is meant"});
    fails(R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz", "instead": "Wool Fuzz", "on": ["3.1"] })",
          {"dunlin-6 has no release \"3.1\""});
    fails(R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz" })", {"\"instead\" is missing"});
    // For other releases they may be right.
    CHECK(run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", out, "--substitutes",
                     substitutes_file(folder, R"({ "parameter": "drive.alternate.model", "lost": "Paper Fuzz",)"
                                              R"( "instead": "Nothing like it", "on": ["3.00"] })")})
              .status == 1);
}

TEST_CASE("the substitutes file is never written over", "[refit][substitutes]") {
    const TempDir folder;
    const std::string file = substitutes_file(folder, "");
    const Ran ran = run_refit({demo("bank-d.syx"), "--on", "3.10", "--out", file, "--force", "--substitutes", file});
    CHECK(ran.status == 2);
    CHECK(says(ran.errors, "never changes those"));
    CHECK(read_text(file).starts_with("{ \"format\""));
}
