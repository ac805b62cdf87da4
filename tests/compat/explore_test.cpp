// What is tried where nobody says: what a unit held before, facts, rules.
#include "compat/explore.h"

#include <algorithm>
#include <set>
#include <string>

#include "base/limits.h"
#include "compat/case_file.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

/// A device of records whose release 1.0 leaves what is missing as it was.
CaseFile of_records(const std::string& members) {
    return case_from(
        R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0", "2.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "records": { "head": ["id", "length"] } } } },
  "rules": { "out-of-range": "clamp", "off-step": "keep", "unknown-choice": "clamp", "unknown-parameter": "skip",
             "missing-parameter": "held", "repeated-key": "first", "newer-stamp": "load", "older-stamp": "load" } }
== release 1.0
"stamp": 1,
)" + members +
            R"(
== release 2.0
"stamp": 2, "extends": "1.0", "rules": { "missing-parameter": "default" }
)",
        "explore_test");
}

compat::Exploration explored(const CaseFile& file, const Bytes& body, std::size_t saved = 1, std::size_t loading = 0,
                             const std::map<std::string, std::string>& facts = {}) {
    const compat::CompiledRelease from(file.device, *file.device.releases[saved].schema);
    const compat::CompiledRelease to(file.device, *file.device.releases[loading].schema);
    const compat::ReleasePair pair(from, to, file.device);
    compat::Image image;
    image.body = body;
    image.stamp_release = saved;
    return compat::explore(pair, image, facts, {}, {});
}

/// What the field with that index was assumed to hold, over all runs.
std::multiset<std::int64_t> held(const compat::Exploration& exploration, int field) {
    std::multiset<std::int64_t> numbers;
    for (const compat::Run& run : exploration.runs) {
        const auto at = run.assumptions.held_loading.find(field);
        if (at != run.assumptions.held_loading.end()) numbers.insert(at->second.whole);
    }
    return numbers;
}

std::multiset<std::int64_t> from_to(std::int64_t first, std::int64_t last) {
    std::multiset<std::int64_t> numbers;
    for (std::int64_t number = first; number <= last; ++number) numbers.insert(number);
    return numbers;
}

}  // namespace

TEST_CASE("explore: of a long range its ends, what conditions ask for and what lies beside, each once") {
    const CaseFile file = of_records(R"("parameters": {
        "before": { "tag": 1 },
        "length": { "tag": 2, "range": [0, 100], "default": 7 },
        "after":  { "tag": 3 },
        "a": { "tag": 4, "when": { "all": [ { "parameter": "length", "is": [50, 140] }, { "parameter": "before", "below": 20 } ] } },
        "b": { "tag": 5, "when": { "any": [ { "parameter": "length", "at-least": 100 }, { "parameter": "after", "above": 70 } ] } },
        "c": { "tag": 6, "when": { "not": { "parameter": "length", "at-most": 0 } } },
        "d": { "tag": 7, "when": { "parameter": "length", "is": 50 } } })");
    const Bytes all_but_length{1, 1, 0, 3, 1, 0, 4, 1, 5, 5, 1, 5, 6, 1, 5, 7, 1, 5};
    CHECK(held(explored(file, all_but_length), 1) == std::multiset<std::int64_t>{0, 1, 49, 50, 51, 99, 100});
}

TEST_CASE("explore: of up to 32 numbers all are tried, of switches and choices both and each, of others none") {
    const CaseFile file = of_records(R"("groups": { "echo": { "kind": "block", "on-by": "echo.on" } }, "parameters": {
        "echo.on": { "tag": 1, "kind": "switch", "on": 0 }, "echo.mix": { "tag": 2, "neutral": 5 },
        "short": { "tag": 3, "range": [20, 51] }, "long": { "tag": 4, "range": [20, 52] }, "real": { "tag": 5, "as": "float32" },
        "mode":  { "tag": 6, "choices": { "Room": 3, "Hall": 5 } },
        "a": { "tag": 7, "neutral": 5, "when": { "parameter": "short", "is": 0 } },
        "b": { "tag": 8, "neutral": 5, "when": { "parameter": "long", "is": 20 } },
        "c": { "tag": 9, "neutral": 5, "when": { "parameter": "real", "is": 20 } },
        "d": { "tag": 10, "neutral": 5, "when": { "parameter": "mode", "is": "Room" } } })");
    const std::map<std::string, Bytes> records{{"echo.on", {1, 1, 0}},
                                               {"echo.mix", {2, 1, 5}},
                                               {"short", {3, 1, 20}},
                                               {"long", {4, 1, 20}},
                                               {"real", {5, 4, 0, 0, 0, 0}},
                                               {"mode", {6, 1, 3}},
                                               {"a", {7, 1, 5}},
                                               {"b", {8, 1, 5}},
                                               {"c", {9, 1, 5}},
                                               {"d", {10, 1, 5}}};
    const compat::CompiledRelease release(file.device, *file.device.releases[0].schema);
    const auto tried = [&](const std::string& missing) {
        Bytes body;
        for (const auto& [id, record] : records) {
            if (id != missing) body.insert(body.end(), record.begin(), record.end());
        }
        for (std::size_t i = 0; i < release.fields().size(); ++i) {
            if (release.fields()[i].field->id == missing) return held(explored(file, body), static_cast<int>(i));
        }
        return std::multiset<std::int64_t>{-1};
    };
    CHECK(tried("short") == from_to(20, 51));
    CHECK(tried("long") == std::multiset<std::int64_t>{20, 21, 52});
    CHECK(tried("echo.on") == std::multiset<std::int64_t>{0, 1});
    CHECK(tried("mode") == std::multiset<std::int64_t>{3, 5});
    CHECK(tried("real").empty());
    CHECK(tried("a").empty());
}

TEST_CASE("explore: switches are tried together, whatever else hangs on values one after the other") {
    const CaseFile file = of_records(
        R"("groups": { "echo": { "kind": "block", "on-by": "echo.on" }, "fuzz": { "kind": "block", "on-by": "fuzz.on" } },
        "parameters": { "echo.on": { "tag": 1, "kind": "switch" }, "echo.mix": { "tag": 2, "neutral": 5 },
        "fuzz.on": { "tag": 3, "kind": "switch" }, "fuzz.edge": { "tag": 4, "neutral": 5 },
        "one": { "tag": 5, "range": [0, 1] }, "two": { "tag": 6, "range": [0, 2] },
        "a": { "tag": 7, "neutral": 5, "when": { "all": [ { "parameter": "one", "is": 1 }, { "parameter": "two", "is": 1 } ] } } })");
    const compat::Exploration exploration = explored(file, {2, 1, 5, 4, 1, 5, 7, 1, 5});
    std::multiset<std::string> texts;
    for (const compat::Run& run : exploration.runs) {
        std::string text;
        for (const std::string& one : run.assumptions.held) text += one + "; ";
        texts.insert(text);
    }
    std::multiset<std::string> expected;
    for (const char* on : {"On", "Off"}) {
        for (const char* one : {"0", "1"}) {
            for (const char* two : {"0", "1", "2"}) {
                expected.insert("1.0 held 2 switches at " + std::string(on) + "; 1.0 held one at " + one +
                                "; 1.0 held two at " + two + "; ");
            }
        }
    }
    CHECK(texts == expected);
    CHECK(exploration.complete);
}

TEST_CASE("explore: facts that variants have are tried by variant, others by what conditions ask of that fact") {
    const CaseFile file = case_from(R"(== release 1.0
"variants": { "mini": { "facts": { "memory": "small", "board": "old" } }, "grand": { "facts": { "memory": "large" } }, "other": {} },
"parameters": { "a": { "at": 0, "neutral": 0, "when": { "fact": "memory", "is": ["small", "huge"] } },
                "b": { "at": 1, "neutral": 0, "when": { "fact": "colour", "is": ["red", "blue"] } },
                "c": { "at": 2, "neutral": 0, "when": { "any": [ { "fact": "colour", "is": "red" }, { "fact": "shape", "is": "round" } ] } } }
== release 2.0
"extends": "1.0"
)",
                                    "explore_test");
    const auto facts_of = [](const compat::Exploration& exploration) {
        std::multiset<std::string> all;
        for (const compat::Run& run : exploration.runs) {
            std::string text;
            for (const auto& [name, setting] : run.assumptions.facts) text += name + "=" + setting + " ";
            all.insert(text);
        }
        return all;
    };
    std::multiset<std::string> expected;
    // Where the colour is red nobody asks for the shape.
    const std::string shapes[] = {"shape=round ", "shape= "};
    const std::pair<std::string, std::vector<std::string>> colours[] = {
        {"red", {""}}, {"blue", {shapes[0], shapes[1]}}, {"", {shapes[0], shapes[1]}}};
    for (const auto& [colour, shaped] : colours) {
        for (const std::string& shape : shaped) {
            const std::string both = "colour=" + colour + " memory=";
            expected.insert("board=old " + both + "small " + shape + "variant=mini ");
            expected.insert(both + "large " + shape + "variant=grand ");
            expected.insert(both + " " + shape + "variant=other ");
        }
    }
    CHECK(facts_of(explored(file, Bytes(16, 0))) == expected);
    const std::map<std::string, std::string> known{
        {"variant", "mini"}, {"memory", "small"}, {"colour", "red"}, {"shape", ""}};
    CHECK(facts_of(explored(file, Bytes(16, 0), 1, 0, known)) ==
          std::multiset<std::string>{"colour=red memory=small shape= variant=mini "});
}

TEST_CASE("explore: as many combinations are tried as may be, and no more") {
    // A number that hangs on nothing but many values: more than may be tried.
    const auto runs = [](const std::string& ranges) {
        const CaseFile file =
            of_records(R"("parameters": { )" + ranges +
                       R"( "a": { "tag": 9, "neutral": 5, "when": { "all": [ { "parameter": "one", "is": 1 },
                                             { "parameter": "two", "is": 1 }, { "parameter": "three", "is": 1 } ] } } })");
        return explored(file, {9, 1, 5});
    };
    const auto range = [](int tag, const std::string& id, int most) {
        return "\"" + id + "\": { \"tag\": " + std::to_string(tag) + ", \"range\": [1, " + std::to_string(most) +
               "] },";
    };
    STATIC_REQUIRE(limits::most_runs == 1000);
    const compat::Exploration all = runs(range(1, "one", 25) + range(2, "two", 20) + range(3, "three", 2));
    CHECK(all.runs.size() == 1000);
    CHECK(all.complete);
    const compat::Exploration more = runs(range(1, "one", 25) + range(2, "two", 20) + range(3, "three", 3));
    CHECK(more.runs.size() == 1000);
    CHECK_FALSE(more.complete);
}

TEST_CASE("explore: of a switch both numbers are tried, whatever on is, and one that is asked otherwise by itself") {
    const CaseFile file = of_records(R"("groups": { "echo": { "kind": "block", "on-by": "echo.on" } },
        "parameters": { "flag": { "tag": 3, "kind": "switch" }, "asking": { "tag": 4, "neutral": 5, "when": { "parameter": "flag", "is": true } },
        "echo.on": { "tag": 1, "as": "int8", "kind": "switch", "on": -1 }, "echo.mix": { "tag": 2, "neutral": 5 } })");
    const compat::Exploration exploration = explored(file, {2, 1, 5, 4, 1, 5});
    std::multiset<std::string> texts;
    for (const compat::Run& run : exploration.runs) {
        std::string text;
        for (const std::string& one : run.assumptions.held) text += one + "; ";
        texts.insert(text);
    }
    CHECK(texts == std::multiset<std::string>{"1.0 held echo.on at On; 1.0 held flag at On; ",
                                              "1.0 held echo.on at On; 1.0 held flag at Off; ",
                                              "1.0 held echo.on at Off; 1.0 held flag at On; ",
                                              "1.0 held echo.on at Off; 1.0 held flag at Off; "});
    CHECK(held(exploration, 2) == std::multiset<std::int64_t>{-1, -1, 0, 0});
}

TEST_CASE("explore: which variant it is counts where a condition asks, or where a variant takes less") {
    const auto facts_of = [](const std::string& members, const std::string& newer) {
        const CaseFile file =
            case_from("== release 1.0\n" + members + "\n== release 2.0\n" + newer + "\n", "explore_test");
        std::multiset<std::string> all;
        for (const compat::Run& run : explored(file, Bytes(16, 0)).runs) {
            std::string text;
            for (const auto& [name, setting] : run.assumptions.facts) text += name + "=" + setting + " ";
            all.insert(text);
        }
        return all;
    };
    const std::string plain = R"("parameters": { "a": { "at": 0, "neutral": 0 } })";
    CHECK(facts_of(R"("variants": { "mini": {}, "grand": {} }, )" + plain, plain) == std::multiset<std::string>{""});
    CHECK(facts_of(R"("variants": { "mini": { "oldest-release": "1.0" }, "grand": {} }, )" + plain, plain) ==
          std::multiset<std::string>{"variant=mini ", "variant=grand "});
    // Variants of the other release alone: then any may be, and none.
    CHECK(facts_of(plain, R"("variants": { "mini": {} },
        "parameters": { "a": { "at": 0, "neutral": 0, "when": { "fact": "variant", "is": "mini" } } })") ==
          std::multiset<std::string>{"variant=mini ", "variant= "});
}

TEST_CASE("explore: what was assumed is told of the loading release, and of the saving one where that is another") {
    const CaseFile file = of_records(R"("rules": { "out-of-range": "clamp" }, "parameters": {
        "short": { "tag": 1, "range": [1, 2] }, "a": { "tag": 2, "range": [0, 10], "step": 5 },
        "b": { "tag": 3, "neutral": 5, "when": { "parameter": "short", "is": 1 } } })");
    schema::Device device = file.device;
    for (schema::ReleaseEntry& entry : device.releases) {
        entry.schema->rules.actions[static_cast<std::size_t>(schema::Rule::off_step)].reset();
    }
    const auto texts = [&](std::size_t saved, std::size_t loading) {
        const compat::CompiledRelease from(device, *device.releases[saved].schema);
        const compat::CompiledRelease to(device, *device.releases[loading].schema);
        const compat::ReleasePair pair(from, saved == loading ? from : to, device);
        compat::Image image;
        const Bytes body{2, 1, 7, 3, 1, 5};
        image.body = body;
        image.stamp_release = saved;
        std::multiset<std::string> all;
        for (const compat::Run& run : compat::explore(pair, image, {}, {}, {}).runs) {
            all.insert(compat::assumption_text(run, pair));
        }
        return all;
    };
    const std::multiset<std::string> own = texts(0, 0);
    CHECK(own.count("off-step: keep, 1.0 held short at 1, 1.0 held short at 2") == 1);
    CHECK(own.count("off-step: round, 1.0 held short at 2, 1.0 held short at 1") == 1);
    CHECK(own.size() == 8);
    const std::multiset<std::string> other = texts(1, 0);
    CHECK(other.count("2.0 with off-step: keep; off-step: round, 1.0 held short at 1") == 1);
    CHECK(other.size() == 8);
}
