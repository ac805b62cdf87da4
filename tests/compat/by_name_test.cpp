// Loading by name: each rule as it may be stated, and unstated.
#include <string>

#include "compat/by_name.h"
#include "compat/check.h"
#include "dump/dump.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

constexpr const char* all_rules = R"("out-of-range": "clamp", "off-step": "round", "unknown-choice": "reset",
  "unknown-parameter": "skip", "missing-parameter": "default", "repeated-key": "first", "long-text": "cut",
  "newer-stamp": "load", "older-stamp": "load")";

/// All rules with one said otherwise, or unsaid.
std::string rules_with(const std::string& rule, const std::string& action) {
    std::string rules = all_rules;
    const std::size_t at = rules.find('"' + rule + '"');
    const std::size_t end = rules.find(',', at);
    if (action.empty()) return rules.erase(at, end == std::string::npos ? end : end + 1 - at);
    return rules.replace(at, (end == std::string::npos ? rules.size() : end) - at,
                         '"' + rule + "\": \"" + action + '"');
}

/// A level on both; a tone that only 2.0 knows.
constexpr const char* level = R"("parameters": {"level": {"path": "/level", "kind": "real", "unit": "dB",
  "range": [-60, 0], "default": -10, "role": "level"}})";
constexpr const char* level_and_tone = R"("extends": "1.0", "parameters": {"tone": {"path": "/tone", "range": [0, 10],
  "default": 5, "neutral": 5, "role": "tone"}})";

std::string check_json(const std::string& rules, const char* older, const char* newer, const std::string& saved,
                       const std::string& members, const std::string& target) {
    return redstart_check(redstart("json", rules, older, newer), redstart_file("json", saved, members), target);
}

}  // namespace

TEST_CASE("by name, an unknown parameter is skipped or refuses the preset, as stated; unstated, both are told") {
    const auto check = [&](const std::string& action) {
        return check_json(rules_with("unknown-parameter", action), level, level_and_tone, "2.0",
                          R"("level": -3, "tone": 5)", "1.0");
    };
    CHECK(check("skip") == "intact\ntone lost none sounding: 5 -> -\nrisk 1 value is unknown there and skipped\n");
    CHECK(check("refuse") == "refused\nbecause it holds /tone, which this release does not know\n");
    CHECK(check("").starts_with("undecided (intact..refused)\nbecause no rule is stated for: unknown-parameter\n"));
}

TEST_CASE("by name, a missing parameter gets its default or what the unit held; unstated, both are told") {
    const auto check = [&](const std::string& action) {
        return check_json(rules_with("missing-parameter", action), level, level_and_tone, "1.0", R"("level": -3)",
                          "2.0");
    };
    CHECK(check("default") == "intact\ntone added none sounding: - -> 5\n");
    CHECK(check("held").starts_with("undecided (intact..altered)\n"));
    CHECK(check("held").find("tone unsure none..audible sounding: - -> whatever was there before\n") !=
          std::string::npos);
    CHECK(check("").starts_with("undecided (intact..altered)\nbecause no rule is stated for: missing-parameter\n"));
}

TEST_CASE("by name, a key that stands twice counts first or last; N and T may differ in it") {
    const std::string twice = R"("level": -3, "level": -30)";
    const auto on_older = [&](const char* action) {
        const std::string older = std::string(level) + R"(, "rules": {"repeated-key": ")" + action + R"("})";
        return check_json(all_rules, older.c_str(), R"("extends": "1.0", "rules": {"repeated-key": "first"})", "2.0",
                          twice, "1.0");
    };
    CHECK(on_older("first") == "intact\n");
    CHECK(on_older("last") == "altered\nlevel displaced audible sounding: -3 dB -> -30 dB\n");
    // Where neither says it, they are tried apart, and one release by itself is the same to itself.
    CHECK(check_json(rules_with("repeated-key", ""), level, R"("extends": "1.0")", "2.0", twice, "1.0")
              .starts_with("undecided (intact..altered)\nbecause no rule is stated for: repeated-key\n"));
    CHECK(check_json(rules_with("repeated-key", ""), level, R"("extends": "1.0")", "2.0", twice, "2.0") == "intact\n");
    CHECK(check_json(rules_with("repeated-key", ""), level, R"("extends": "1.0", "rules": {"repeated-key": "first"})",
                     "2.0", twice, "1.0")
              .find("no rule is stated for: repeated-key") != std::string::npos);
}

TEST_CASE("by name, a choice stored as text is found by that text and by nothing else") {
    constexpr const char* older = R"("parameters": {"type": {"path": "/type", "as": "text",
        "choices": ["Room", "Hall", "Plate"], "default": "Plate", "role": "model"}})";
    // The same thing under a new name, and a new thing before it: numbers move, texts decide.
    constexpr const char* newer = R"("extends": "1.0", "parameters": {"type": {"choices":
        {"rename": {"Hall": "Great Hall"}, "insert": {"Closet": 0}}}})";
    const auto check = [&](const std::string& action, const std::string& text) {
        return check_json(rules_with("unknown-choice", action), older, newer, "2.0", "\"type\": \"" + text + "\"",
                          "1.0");
    };
    CHECK(check("reset", "Room") == "intact\n");
    CHECK(check("reset", "Great Hall") ==
          "altered\ntype reset severe sounding: Great Hall -> Plate\ncaution level unknown type\n");
    CHECK(check("first", "Closet") ==
          "altered\ntype reset severe sounding: Closet -> Room\ncaution level unknown type\n");
    CHECK(check("refuse", "Closet") == "refused\nbecause it does not take the stored number of type\n");
    CHECK(check("keep", "Closet") ==
          "altered\ntype out-of-range severe sounding: Closet -> \"Closet\" (no such choice)\n"
          "caution level unknown type\n");
    CHECK(check("", "Closet").find("no rule is stated for: unknown-choice") != std::string::npos);
    // A text that the saving release does not know either is a doubt.
    CHECK(check("keep", "Cupboard") == "intact\ndoubt type Cupboard\n");
}

TEST_CASE("by name, a rename links what is meant and finds nothing") {
    constexpr const char* renamed = R"("extends": "1.0", "parameters": {"volume": {"renamed-from": "level",
        "path": "/volume"}})";
    CHECK(check_json(all_rules, level, renamed, "2.0", R"("volume": -30)", "1.0") ==
          "altered\nvolume reset severe sounding: -30 dB -> -10 dB\ncaution louder volume +20 dB\n"
          "risk 1 value is unknown there and skipped\n");
    // The same path under another id is the same value.
    constexpr const char* same_path = R"("extends": "1.0", "parameters": {"volume": {"renamed-from": "level"}})";
    CHECK(check_json(all_rules, level, same_path, "2.0", R"("level": -30)", "1.0") == "intact\n");
    // The same path under an id that nothing links is displaced.
    constexpr const char* other = R"("extends": "1.0", "parameters": {"level": null, "trim": {"path": "/level",
        "kind": "real", "unit": "dB", "range": [-60, 0], "default": 0, "neutral": 0, "role": "level"}})";
    CHECK(check_json(all_rules, level, other, "2.0", R"("level": -30)", "1.0").find("level displaced ") !=
          std::string::npos);
}

TEST_CASE("by name, numbers are whole, real, decimal, hexadecimal, in texts, and compared as what holds them") {
    constexpr const char* older = R"("parameters": {
        "gain": {"path": "/gain", "kind": "real", "as": "float32", "range": [0, 10], "role": "tone"},
        "count": {"path": "/count", "range": [0, 100], "role": "tone"}})";
    constexpr const char* newer = R"("extends": "1.0", "parameters": {"gain": {"range": [0, 20]},
        "count": {"kind": "real", "range": [0, 100.5]}})";
    const auto check = [&](const std::string& action, const std::string& members) {
        return check_json(rules_with("off-step", action), older, newer, "2.0", members, "1.0");
    };
    // 0.1 and the decimal text of the binary32 nearest to it are one value.
    CHECK(check("round", R"("gain": 0.100000001490116119384765625, "count": 4)") == "intact\n");
    CHECK(check("round", R"("gain": "0x1.8p+1", "count": "4")") == "intact\n");
    CHECK(check("round", R"("gain": 12, "count": 4.0)") == "altered\ngain clamped audible sounding: 12 -> 10\n");
    // A fraction where the older release has whole numbers.
    CHECK(check("round", R"("gain": 1, "count": 40.75)") == "intact\ncount rounded none sounding: 40.75 -> 41\n");
    CHECK(check("round", R"("gain": 1e0, "count": 4e1)") == "intact\n");
}

TEST_CASE("by name, a text that is too long is cut where a character ends, or refused") {
    constexpr const char* older = R"("parameters": {"title": {"path": "/title", "kind": "text", "length": 4}})";
    constexpr const char* newer = R"("extends": "1.0", "parameters": {"title": {"length": 40}})";
    const auto check = [&](const std::string& action) {
        return check_json(rules_with("long-text", action), older, newer, "2.0", R"("title": "abc\u00e9f")", "1.0");
    };
    CHECK(check("cut") ==
          "near\ntitle cut slight sounding: abc\xC3\xA9"
          "f -> abc\n");
    CHECK(check("refuse") == "refused\nbecause it does not take the stored number of title\n");
}

TEST_CASE("a group's version may stand at a path, and what is beyond it is refused") {
    constexpr const char* older = R"("groups": {"verb": {"kind": "block", "path": "/verb", "version": "/v",
        "version-at-most": 1}}, "parameters": {"verb.mix": {"path": "/mix", "unit": "%", "range": [0, 100],
        "default": 0, "neutral": 0, "role": "mix"}})";
    constexpr const char* newer = R"("extends": "1.0", "groups": {"verb": {"version-at-most": 2}})";
    CHECK(check_json(all_rules, older, newer, "2.0", R"("verb": {"v": 1, "mix": 40})", "1.0") == "intact\n");
    CHECK(check_json(all_rules, older, newer, "2.0", R"("verb": {"v": 2, "mix": 40})", "1.0") ==
          "altered\nverb.mix lost audible sounding: 40 % -> -\n");
}

TEST_CASE("a finding by name tells the path and the line") {
    const schema::Device device = redstart("xml", all_rules, R"("parameters": {"level": {"path": "level/@db",
        "kind": "real", "unit": "dB", "range": [-60, 0], "role": "level"}})",
                                           R"("extends": "1.0", "parameters": {"level": {"range": [-60, 12]}})");
    const std::string file = redstart_file("xml", "2.0", "\n<level\n db='6'/>");
    const Bytes bytes(file.begin(), file.end());
    const auto dump = dump::read("a.xml", bytes, device);
    REQUIRE(dump.ok());
    compat::CheckOptions options;
    options.targets = {0};
    compat::Checker checker(device, options);
    const compat::DumpCheck checked = compat::check_dump(checker, dump.value(), bytes);
    REQUIRE(checked.presets.at(0).targets.at(0).findings.size() == 1);
    const compat::Finding& finding = checked.presets[0].targets[0].findings[0];
    CHECK(finding.saved_path == "level/@db");
    CHECK(finding.saved_line == 3);
    CHECK(finding.saved_offset == file.find("6'/>"));
    CHECK(finding.loaded_path == "level/@db");
}

TEST_CASE("two layouts of one device store the same parameter each in its own way") {
    const char* json_and_xml = R"("parameters": {"level": {"path": "/level", "kind": "real", "unit": "dB",
        "range": [-60, 0], "role": "level", "in": {"file": {"path": "/db10", "scale": {"stored": [-600, 0],
        "value": [-60, 0]}}}}})";
    const schema::Device device = redstart("json", all_rules, json_and_xml, R"("extends": "1.0")");
    const schema::Release& release = *device.releases[0].schema;
    CHECK(release.parameters[0].path == "/level");
    CHECK(release.in_layout(0).parameters[0].path == "/db10");
    CHECK(redstart_check(device, redstart_file("json", "2.0", R"("db10": -305)"), "1.0") == "intact\n");
}
