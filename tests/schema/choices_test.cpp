// Choices: their plain forms, the five edits, shared lists, and what stays the same across releases.
#include <string>
#include <vector>

#include "schema/siskin.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using schema::ChoiceList;
using schema::Device;

/// "0 Room, 4 Hall (Large)": the meaning in brackets where it is not the label.
std::string text_of(const ChoiceList& list) {
    std::string text;
    for (const schema::Choice& choice : list.choices) {
        text += (text.empty() ? "" : ", ") + std::to_string(choice.number) + " " + choice.label;
        if (choice.meaning != choice.label) text += " (" + choice.meaning + ")";
    }
    return text;
}

std::string choices_in(const Device& device, std::size_t release, std::string_view parameter) {
    const schema::Parameter* found = device.releases.at(release).schema->find(parameter);
    REQUIRE(found);
    REQUIRE(found->plain.choices);
    return text_of(*found->plain.choices);
}

/// The choices of "mode" after a release that has `first` and one that writes `second` over it.
std::string merged(const std::string& first, const std::string& second) {
    const auto files = wren({{"1.0", R"("parameters": { "mode": { "at": 0, "choices": )" + first + " } }"},
                             {"1.1", R"("extends": "1.0", "parameters": { "mode": { "choices": )" + second + " } }"}});
    return choices_in(must_load(files), 1, "mode");
}

struct MergeRow {
    std::string first, second, result;
};

const std::string four = R"(["Room", "Hall", "Plate", "Spring"])";

const std::vector<MergeRow> merge_rows{
    // plain forms
    {R"(["Room", "Hall"])", "{}", "0 Room, 1 Hall"},
    {R"({ "Hall": 4, "Room": 0 })", "{}", "0 Room, 4 Hall"},
    {R"({ "Hall": { "number": 4, "was": "Large" } })", "{}", "4 Hall (Large)"},
    {R"({ "Low": -2, "High": 7 })", "{}", "-2 Low, 7 High"},
    // merging of plain entries
    {R"(["Room", "Hall"])", R"({ "Plate": 7 })", "0 Room, 1 Hall, 7 Plate"},
    {R"(["Room", "Hall", "Plate"])", R"({ "Hall": null })", "0 Room, 2 Plate"},
    {R"({ "Hall": { "number": 4, "was": "Large" } })", R"({ "Hall": 5 })", "5 Hall (Large)"},
    {R"({ "Hall": { "number": 4, "was": "Large" } })", R"({ "Hall": { "was": "Big" } })", "4 Hall (Big)"},
    {R"(["Room", "Hall"])", R"(["Hall", "Plate"])", "0 Hall, 1 Plate"},
    {R"({ "Hall": { "number": 4, "was": "Large" } })", R"(["Hall"])", "0 Hall (Large)"},
    // each edit
    {four, R"({ "rename": { "Hall": "Large Hall" } })", "0 Room, 1 Large Hall (Hall), 2 Plate, 3 Spring"},
    {four, R"({ "rename": { "Hall": "Room", "Room": "Hall" } })", "0 Hall (Room), 1 Room (Hall), 2 Plate, 3 Spring"},
    {four, R"({ "remove": ["Hall"] })", "0 Room, 2 Plate, 3 Spring"},
    {four, R"({ "close": ["Hall"] })", "0 Room, 1 Plate, 2 Spring"},
    {four, R"({ "close": ["Plate", "Room"] })", "0 Hall, 1 Spring"},
    {four, R"({ "insert": { "Cavern": 1 } })", "0 Room, 1 Cavern, 2 Hall, 3 Plate, 4 Spring"},
    {four, R"({ "insert": { "Vault": 3, "Cavern": 1 } })", "0 Room, 1 Cavern, 2 Hall, 3 Vault, 4 Plate, 5 Spring"},
    {four, R"({ "insert": { "Cavern": 9 } })", "0 Room, 1 Hall, 2 Plate, 3 Spring, 9 Cavern"},
    {R"({ "Room": 0, "Hall": 5 })", R"({ "insert": { "Cavern": 3 } })", "0 Room, 3 Cavern, 6 Hall"},
    {four, R"({ "add": { "Cavern": 9 } })", "0 Room, 1 Hall, 2 Plate, 3 Spring, 9 Cavern"},
    // their order: rename, remove, close, insert, add, however they are written
    {four,
     R"({ "add": { "Top": 9 }, "insert": { "Cavern": 0 }, "close": ["Plate"], "remove": ["Big"], "rename": { "Room": "Big" } })",
     "0 Cavern, 2 Hall, 3 Spring, 9 Top"},
    // the plain entries come before the edits
    {R"(["Room"])", R"({ "Hall": 1, "insert": { "Plate": 1 } })", "0 Room, 1 Plate, 2 Hall"},
    // a label that comes back is the same thing; one that another thing once had is not
    {R"(["Room", "Hall"])", R"({ "rename": { "Hall": "Vault" }, "add": { "Hall": 2 } })",
     "0 Room, 1 Vault (Hall), 2 Hall (Hall@1.1)"},
};

}  // namespace

TEST_CASE("choices are merged and edited", "[schema]") {
    for (const MergeRow& row : merge_rows) {
        CAPTURE(row.first, row.second);
        CHECK(merged(row.first, row.second) == row.result);
    }
}

TEST_CASE("edits vanish: only their result is inherited", "[schema]") {
    const Device device = must_load(
        wren({{"1.0", R"("parameters": { "mode": { "at": 0, "choices": ["Room"] } })"},
              {"1.1", R"("extends": "1.0", "parameters": { "mode": { "choices": { "insert": { "Hall": 0 } } } })"},
              {"1.2", R"("extends": "1.1")"}}));
    CHECK(choices_in(device, 1, "mode") == "0 Hall, 1 Room");
    CHECK(choices_in(device, 2, "mode") == "0 Hall, 1 Room");
}

TEST_CASE("an edit of a choice list reaches all that use it", "[schema]") {
    const Device device = must_load(
        wren({{"1.0", R"("choice-lists": { "rooms": ["Room"] }, "parameters": { "a": { "at": 0, "choices": "rooms" },
                         "b": { "at": 1, "choices": "rooms" }, "c": { "at": 2, "choices": ["Room"] } })"},
              {"1.1", R"("extends": "1.0", "choice-lists": { "rooms": { "insert": { "Hall": 0 } } })"}}));
    CHECK(choices_in(device, 1, "a") == "0 Hall, 1 Room");
    CHECK(choices_in(device, 1, "b") == "0 Hall, 1 Room");
    CHECK(choices_in(device, 1, "c") == "0 Room");
    CHECK(device.releases[1].schema->parameters[0].plain.choices ==
          device.releases[1].schema->parameters[1].plain.choices);
}

TEST_CASE("what is inherited knows labels by their new names", "[schema]") {
    const Device device = must_load(
        wren({{"1.0", R"("choice-lists": { "rooms": ["Room", "Hall"] }, "parameters": {
                         "mode": { "at": 0, "choices": "rooms", "default": "Hall" },
                         "size": { "at": 1, "when": { "not": { "parameter": "mode", "is": ["Room", "Hall"] } } } })"},
              {"1.1", R"("extends": "1.0", "choice-lists": { "rooms": { "rename": { "Hall": "Vault" } } })"}}));
    const schema::Release& release = *device.releases[1].schema;
    CHECK(release.find("mode")->plain.preset_default == schema::Setting{"Vault"});
    const schema::Condition& asked = release.find("size")->when->parts.at(0);
    CHECK(asked.settings == std::vector<schema::Setting>{"Room", "Vault"});
}

TEST_CASE("choices that vary replace the plain ones and keep their meanings", "[schema]") {
    const Device device =
        must_load(wren({{"1.0", R"("parameters": { "kind": { "at": 0, "kind": "switch" }, "mode": { "at": 1,
                         "choices": { "Room": 0, "Hall": { "number": 1, "was": "Large" } },
                         "varies": [{ "when": { "parameter": "kind", "is": "on" }, "choices": { "Hall": 0, "Plate": 1 } }] } })"}}));
    const schema::Parameter& mode = *device.releases[0].schema->find("mode");
    CHECK(text_of(*mode.plain.choices) == "0 Room, 1 Hall (Large)");
    CHECK(text_of(*mode.varies.at(0).meaning.choices) == "0 Hall (Large), 1 Plate");
    CHECK(mode.varies.at(0).when.settings == std::vector<schema::Setting>{1.0});
}

TEST_CASE("finding choices", "[schema]") {
    const ChoiceList list{{{-4, "Low", "Low"}, {0, "Room", "Room"}, {3, "Hall", "Hall"}}};
    CHECK(list.find(3)->label == "Hall");
    CHECK(list.find(1) == nullptr);
    CHECK(list.find("Room")->number == 0);
    CHECK(list.find("room") == nullptr);
    CHECK(list.nearest(1)->number == 0);
    CHECK(list.nearest(2)->number == 3);
    CHECK(list.nearest(-2)->number == -4);  // of two equally near the lower
    CHECK(list.nearest(INT64_MAX)->number == 3);
    CHECK(list.nearest(INT64_MIN)->number == -4);
    CHECK(ChoiceList{}.nearest(0) == nullptr);
}

}  // namespace downfit::testing
