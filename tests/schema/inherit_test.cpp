// What a release inherits: merging, renames, removals, and meanings across releases.
#include <string>
#include <vector>

#include "schema/siskin.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using schema::Device;
using schema::Release;

const Release& release(const Device& device, std::size_t order) {
    return device.releases.at(order).schema.value();
}

/// "id (meaning)", the meaning only where it is another.
std::string with_meaning(const std::string& name, const std::string& meaning) {
    return name == meaning ? name : name + " (" + meaning + ")";
}

std::string groups_of(const Release& of) {
    std::string text;
    for (const schema::Group& group : of.groups)
        text += (text.empty() ? "" : ", ") + with_meaning(group.path, group.meaning);
    return text;
}

std::string parameters_of(const Release& of) {
    std::string text;
    for (const schema::Parameter& parameter : of.parameters) {
        text += (text.empty() ? "" : ", ") + with_meaning(parameter.id, parameter.meaning);
    }
    return text;
}

const std::string amp_release = R"(
  "groups": { "amp": { "kind": "block", "at": 0, "count": 2, "stride": 16, "on-by": "amp.on" },
              "amp.voice": { "at": 4, "when": { "parameter": "amp.on", "is": "on" } } },
  "parameters": {
    "volume": { "at": 40, "range": [0, 100] },
    "amp.on": { "at": 0, "kind": "switch" },
    "amp.voice.drive": { "at": 0, "range": [0, 10], "step": 0.5, "when": { "any": [{ "parameter": "amp[2].on", "is": "on" }] } },
    "target": { "at": 41, "refers-to": "parameter", "choices": { "volume": 0, "amp[1].voice.drive": 1 } } })";

Device second(const std::string& written) {
    return must_load(wren({{"1.0", amp_release}, {"1.1", "\"extends\": \"1.0\", " + written}}));
}

}  // namespace

TEST_CASE("values are merged key by key", "[schema]") {
    const Device device = second(R"("parameters": { "amp.voice.drive": { "range": [0, 12], "step": null } })");
    const schema::Parameter& drive = *release(device, 1).find("amp.voice.drive");
    CHECK(drive.plain.range == schema::Range{0, 12});
    CHECK_FALSE(drive.plain.step);
    CHECK(drive.kind == schema::Kind::whole);
    CHECK(drive.when.has_value());
    CHECK(drive.place.file == "1.1.json");
    CHECK(release(device, 1).find("volume")->place.file == "1.0.json");
    CHECK(release(device, 0).find("amp.voice.drive")->kind == schema::Kind::real);
}

TEST_CASE("a mistake in what is inherited is blamed on who wrote it last", "[schema]") {
    const auto files = wren({{"1.0", amp_release},
                             {"1.1", "\"extends\": \"1.0\",\n\"parameters\": { \"amp.on\": null }"},
                             {"1.2", "\"extends\": \"1.1\""}});
    CHECK(problem_lines(schema::load_device(files)) ==
          "1.0.json:2:85 /groups/amp/on-by | release \"1.1\" has no parameter \"amp.on\" | the id of a parameter | \n"
          "1.0.json:3:62 /groups/amp.voice/when/parameter | release \"1.1\" has no parameter \"amp.on\" | the id of a "
          "parameter | \n"
          "1.0.json:7:99 /parameters/amp.voice.drive/when/any/0/parameter | release \"1.1\" has no parameter "
          "\"amp.on\" | "
          "the id of a parameter | \n");
}

TEST_CASE("a removed group takes its parameters and inner groups along", "[schema]") {
    const Device device = second(R"("groups": { "amp": null }, "parameters": { "target": null })");
    CHECK(groups_of(release(device, 1)).empty());
    CHECK(parameters_of(release(device, 1)) == "volume");
    CHECK(parameters_of(release(device, 0)) == "volume, amp.on, amp.voice.drive, target");
}

TEST_CASE("a renamed parameter means the same, and what refers to it follows", "[schema]") {
    const Device device =
        second(R"("parameters": { "amp.voice.gain": { "renamed-from": "amp.voice.drive", "range": [0, 5] },
                                                    "amp.enabled": { "renamed-from": "amp.on" } })");
    const Release& later = release(device, 1);
    CHECK(parameters_of(later) == "volume, amp.enabled (amp.on), amp.voice.gain (amp.voice.drive), target");
    CHECK(later.find("amp.voice.gain")->plain.range == schema::Range{0, 5});
    CHECK(later.find("amp.voice.gain")->plain.step == 0.5);
    CHECK(later.find("amp.voice.gain")->when->parts.at(0).name == "amp[2].enabled");
    CHECK(later.groups.at(0).on_by == "amp.enabled");
    CHECK(later.groups.at(1).when->name == "amp.enabled");
    const schema::ChoiceList& targets = *later.find("target")->plain.choices;
    CHECK(targets.find(1)->label == "amp[1].voice.gain");
    CHECK(targets.find(1)->meaning == "amp[1].voice.drive");
}

TEST_CASE("a renamed group takes its parameters and inner groups along", "[schema]") {
    const Device device = second(R"("groups": { "head": { "renamed-from": "amp", "at": 1 } },
                                    "parameters": { "head.voice.gain": { "renamed-from": "amp.voice.drive" },
                                                    "head.voice.bite": { "at": 1 } })");
    const Release& later = release(device, 1);
    CHECK(groups_of(later) == "head (amp), head.voice (amp.voice)");
    CHECK(parameters_of(later) ==
          "volume, head.on (amp.on), head.voice.gain (amp.voice.drive), target, head.voice.bite");
    CHECK(later.groups.at(0).at == 1);
    CHECK(later.groups.at(0).count == 2);
    CHECK(later.groups.at(0).on_by == "head.on");
    CHECK(later.find("head.voice.gain")->when->parts.at(0).name == "head[2].on");
    CHECK(later.find("target")->plain.choices->find(1)->label == "head[1].voice.gain");
}

TEST_CASE("names can be exchanged", "[schema]") {
    const Device device =
        second(R"("parameters": { "volume": { "renamed-from": "target" }, "target": { "renamed-from": "volume" } })");
    CHECK(parameters_of(release(device, 1)) == "target (volume), amp.on, amp.voice.drive, volume (target)");
}

TEST_CASE("a new parameter under an old name means something new", "[schema]") {
    const auto files =
        wren({{"1.0", R"("parameters": { "drive": { "at": 0 } })"},
              {"2.0 beta",
               R"("extends": "1.0", "parameters": { "gain": { "renamed-from": "drive" }, "drive": { "at": 1 } })"},
              {"2.0", R"("extends": "2.0 beta", "parameters": { "drive": { "at": 2 } })"},
              {"3.0", R"("parameters": { "drive": { "at": 0 } })"}});
    const Device device = must_load(files);
    CHECK(parameters_of(release(device, 1)) == "gain (drive), drive (drive@2.0 beta)");
    CHECK(parameters_of(release(device, 2)) == "gain (drive), drive (drive@2.0 beta)");
    CHECK(parameters_of(release(device, 3)) == "drive");
}

TEST_CASE("a release may extend one that is newer", "[schema]") {
    const Device device = must_load(wren({{"1.0", R"("extends": "2.0", "parameters": { "bite": null })"},
                                          {"2.0", R"("parameters": { "drive": { "at": 0 }, "bite": { "at": 1 } })"}}));
    CHECK(parameters_of(release(device, 0)) == "drive");
    CHECK(parameters_of(release(device, 1)) == "drive, bite");
}

TEST_CASE("what belongs to one release alone is not inherited", "[schema]") {
    auto files = siskin();
    const std::string_view list = R"("releases": ["1.0", )";
    files[0].text.replace(files[0].text.find(list), list.size(), R"("releases": ["1.0", "1.2", )");
    files.push_back(
        {"1.2.json", R"({ "format": "downfit release 1", "device": "siskin", "release": "1.2", "extends": "1.1" })"});
    const Device device = must_load(files);
    const Release& last = release(device, 1);
    CHECK(last.name == "1.2");
    CHECK(last.stamps.empty());
    CHECK(last.revoiced.empty());
    CHECK(last.returns_to.empty());
    CHECK(last.erases.empty());
    CHECK(last.accepts.size() == 1);
    CHECK(last.repairs.size() == 1);
    CHECK(last.layouts.at(0).body_size == 160);
    CHECK(last.order == 1);
    CHECK(release(device, 2).name == "1.1");
}

}  // namespace downfit::testing
