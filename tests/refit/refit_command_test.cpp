// `downfit refit` as a user runs it: what it writes, what it says, its exit status.
#include <filesystem>

#include "refit/run_refit.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/temp_dir.h"

using namespace downfit;
using namespace downfit::testing;

TEST_CASE("refit writes a dump that check finds better", "[refit][cli]") {
    const TempDir folder;
    const std::string out = (folder / "pipit-1.1.syx").string();
    const Ran ran = run_refit({demo("pipit-b.syx"), "--on", "1.1", "--out", out});
    CHECK(ran.errors == "");
    CHECK(ran.status == 1);  // models that 1.1 does not have
    CHECK(says(ran.output, "60 presets of "));
    CHECK(says(ran.output, "for Pipit release 1.1, written and read back."));
    CHECK(says(ran.output, "MONITORS DOWN"));
    CHECK(says(ran.output, "What still differs from the original:"));
    const Ran check = run_downfit({"check", out, "--on", "1.1", "--schemas", (project_folder() / "schemas").string()});
    CHECK(says(check.output, "saved on 1.1"));
    SECTION("an existing file stays, unless it is to be replaced") {
        const Bytes first = read_bytes(out);
        const Ran again = run_refit({demo("pipit-a.syx"), "--on", "1.1", "--out", out});
        CHECK(again.status == 2);
        CHECK(says(again.errors, "is there already"));
        CHECK(says(again.errors, "--force"));
        CHECK(read_bytes(out) == first);
        CHECK(run_refit({demo("pipit-a.syx"), "--on", "1.1", "--out", out, "--force"}).status == 1);
        CHECK(read_bytes(out) != first);
    }
    SECTION("once more changes nothing") {
        const std::string twice = (folder / "twice.syx").string();
        const Ran again = run_refit({out, "--on", "1.1", "--out", twice});
        CHECK(says(again.output, "unchanged."));
        CHECK(read_bytes(twice) == read_bytes(out));
    }
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
        CHECK(entry.path().extension() == ".syx");  // nothing half written is left
    }
}

TEST_CASE("refit says what is wrong with the call", "[refit][cli]") {
    const TempDir folder;
    const std::string out = (folder / "out.syx").string();
    const auto fails = [&](const std::vector<std::string>& arguments, const std::string& words) {
        const Ran ran = run_refit(arguments);
        CAPTURE(words, ran.output, ran.errors);
        CHECK(ran.status == 2);
        CHECK(says(ran.errors, words));
        CHECK(!std::filesystem::exists(out));
    };
    fails({"--on", "2.10", "--out", out}, "no dump is named");
    fails({demo("bank-a.syx"), demo("bank-b.syx"), "--on", "2.10", "--out", out}, "one dump at a time");
    fails({demo("bank-a.syx"), "--out", out}, "no release is named");
    fails({demo("bank-a.syx"), "--on", "2.10"}, "no file to write is named");
    fails({demo("bank-a.syx"), "--on", "2.1", "--out", out}, "2.10");
    fails({demo("bank-a.syx"), "--on", "2.10", "--out", out, "--fill-from", demo("pipit-a.syx")}, "another device");
    fails({demo("bank-a.syx"), "--on", "2.10", "--out", demo("bank-a.syx"), "--force"}, "never changes those");
    fails({demo("bank-a.syx"), "--on", "2.10", "--out", out, "--format", "html"}, "--format");
}

TEST_CASE("the command that refit advises shows what it told", "[refit][cli][heavy]") {
    const TempDir folder;
    const std::string out = (folder / "pipit-1.1.syx").string();
    const Ran ran = run_refit({demo("pipit-b.syx"), "--on", "1.1", "--out", out, "--width", "400"});
    const std::string next = "Next: downfit compare " + demo("pipit-b.syx") + ' ' + out + " --slot ";
    const std::size_t at = ran.output.find(next);
    CAPTURE(ran.output);
    REQUIRE(at != std::string::npos);
    const std::string line = ran.output.substr(at, ran.output.find('\n', at) - at);
    const std::string slot = line.substr(next.size(), line.find(' ', next.size()) - next.size());
    const Ran compare = run_downfit({"compare", demo("pipit-b.syx"), out, "--slot", slot, "--schemas",
                                     (project_folder() / "schemas").string(), "--detail"});
    CHECK(line.find(" --detail") != std::string::npos);
    CHECK(compare.errors == "");
    CHECK(compare.status == 1);
    // The worst of what still differs, in both.
    const std::size_t worst = ran.output.find("Worst: ");
    REQUIRE(worst != std::string::npos);
    const std::string told =
        ran.output.substr(worst, ran.output.find_first_of(".,", ran.output.find(": ", worst + 7)) - worst);
    const std::size_t instead = told.find(" instead of ");
    REQUIRE(instead != std::string::npos);
    CHECK(says(compare.output, told.substr(instead + 12)));
}

TEST_CASE("refit puts the end of a range that lies off its steps, where the release keeps such values",
          "[refit][cli]") {
    const TempDir folder;
    const auto write = [&](const std::string& name, const std::string& text) {
        std::filesystem::create_directories((folder / name).parent_path());
        write_bytes(folder / name, Bytes(text.begin(), text.end()));
    };
    write("schemas/siskin/device.json",
          R"({ "format": "downfit device 1", "device": "siskin", "releases": ["1.0", "2.0"],
        "layouts": { "export": { "as": "json", "presets": "/sounds/*", "stamp": "/firmware" } },
        "rules": { "out-of-range": "clamp", "off-step": "keep", "newer-stamp": "load", "missing-parameter": "default",
                   "unknown-parameter": "skip" } })");
    write("schemas/siskin/1.0.json",
          R"({ "format": "downfit release 1", "device": "siskin", "release": "1.0", "stamp": 1,
        "parameters": { "tilt": { "path": "/tilt", "range": [-4, -1], "step": 2, "default": -2 } } })");
    write("schemas/siskin/2.0.json",
          R"({ "format": "downfit release 1", "device": "siskin", "release": "2.0", "stamp": 2,
        "extends": "1.0", "parameters": { "tilt": { "range": [-4, 4] } } })");
    write("bank.json", R"({ "sounds": [ { "firmware": 2, "tilt": 2 }, { "firmware": 2, "tilt": -4 } ] })");
    const Ran ran = run_downfit({"refit", (folder / "bank.json").string(), "--on", "1.0", "--out",
                                 (folder / "1.0.json").string(), "--schemas", (folder / "schemas").string()});
    CHECK(ran.errors == "");
    const Bytes written = read_bytes(folder / "1.0.json");
    CHECK(std::string(written.begin(), written.end()) ==
          R"({ "sounds": [ { "firmware": 1, "tilt": -1 }, { "firmware": 1, "tilt": -4 } ] })");
}

TEST_CASE("what the hardware takes on no terms is not compared: which releases take it is asked next", "[refit][cli]") {
    const TempDir folder;
    const std::string source = demo("pipit-a.syx");
    const Ran ran = run_refit({source, "--on", "1.0", "--out", (folder / "out.syx").string()});
    CHECK(ran.status == 1);
    CHECK(says(ran.output, "60 will not load: refused"));
    CHECK(says(ran.output, "Next: downfit check " + source + " --on all "));
}

TEST_CASE("refit for a release that shares its stamp says so, and --saved-on settles it", "[refit][cli][heavy]") {
    const TempDir folder;
    const std::string out = (folder / "2.00.syx").string(), again = (folder / "again.syx").string();
    const Ran ran = run_refit({demo("bank-d.syx"), "--on", "2.00", "--out", out, "--summary"});
    CHECK(ran.errors == "");
    CHECK(says(ran.output,
               "Its stamp is that of 2.00 beta 1 too: check and compare take the worst of these, unless "
               "--saved-on 2.00 says which."));
    const Ran unsaid = run_refit({out, "--on", "2.00", "--out", again, "--summary"});
    CHECK(unsaid.status == 1);
    CHECK(says(unsaid.output, "No file was written"));
    CHECK(says(unsaid.output, "--saved-on says which release saved it"));
    CHECK_FALSE(says(unsaid.output, "Before you send it"));
    CHECK_FALSE(says(unsaid.output, "What still differs"));
    CHECK_FALSE(std::filesystem::exists(again));
    const auto check = [&](const std::vector<std::string>& more) {
        std::vector<std::string> arguments{"check",  out,  "--on",      "2.00",
                                           "--slot", "86", "--schemas", (project_folder() / "schemas").string()};
        arguments.insert(arguments.end(), more.begin(), more.end());
        return run_downfit(arguments).output;
    };
    CHECK(says(check({}), "saved on 2.00 beta 1 or 2.00"));
    CHECK(says(check({"--saved-on", "2.00"}), "1 safe to load, intact"));
    CHECK(says(check({"--saved-on", "3.10"}), "saved on 2.00 beta 1 or 2.00"));  // not among them: the stamp stands
}

TEST_CASE("refit writes no file called -, and none without a name", "[refit][cli]") {
    for (const std::string out : {"-", ""}) {
        const Ran ran = run_refit({demo("pipit-a.syx"), "--on", "1.1", "--out", out});
        CHECK(ran.status == 2);
        CHECK(says(ran.errors, "refit writes a file, and reads it again from there"));
        CHECK_FALSE(std::filesystem::exists("-"));
    }
}

TEST_CASE("compare tells a slot that only the release of A has, as refit and check do", "[refit][cli][heavy]") {
    const TempDir folder;
    const std::string out = (folder / "2.10.syx").string(), schemas = (project_folder() / "schemas").string();
    CHECK(says(run_refit({demo("bank-b.syx"), "--on", "2.10", "--out", out}).output, "cab[1] ir 90 is empty"));
    const auto compare = [&](const std::string& a, const std::string& b) {
        return run_downfit({"compare", a, b, "--slot", "38,46", "--schemas", schemas});
    };
    const Ran there = compare(demo("bank-b.syx"), out);
    CHECK(there.status == 1);
    CHECK(says(there.output, "2 audibly different, 2 of them severely"));
    CHECK(says(there.output, "90 in both, a slot that the release of B does not have"));
    CHECK(compare(out, out).status == 0);
    CHECK(compare(demo("bank-b.syx"), demo("bank-b.syx")).status == 0);
}
