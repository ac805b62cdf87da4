// Groups that are like others: what they have, what of it follows later changes, and what is their own.
#include <string>

#include "schema/device.h"
#include "schema/siskin.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using schema::Device;
using schema::Parameter;
using schema::Release;

const std::string first_release = R"(
  "groups": {
    "amp": { "kind": "block", "at": 0, "count": 2, "stride": 10, "on-by": "amp.on" },
    "amp.voice": { "kind": "alternate", "at": 4, "count": 2, "stride": 3, "selected-by": "amp.used" },
    "pad": { "kind": "block", "at": 40, "on-by": "pad.on", "like": "amp" } },
  "parameters": {
    "amp.on": { "at": 0, "kind": "switch" }, "amp.used": { "at": 1, "range": [1, 2] },
    "amp.model": { "at": 2, "choices": ["Brook", "Weir"] },
    "amp.voice.drive": { "at": 0, "when": { "parameter": "amp.model", "is": "Weir" } },
    "amp.voice.bite": { "at": 1, "when": { "parameter": "amp[2].on", "is": "on" } },
    "pad.used": { "at": 3 } })";

Device loaded(const std::string& second) {
    return must_load(wren({{"1.0", first_release}, {"1.1", "\"extends\": \"1.0\"" + second}}));
}

/// "id meaning" of all parameters in the group "pad", one in each line.
std::string in_pad(const Release& release, const std::string& group = "pad.") {
    std::string text;
    for (const Parameter& parameter : release.parameters) {
        if (parameter.id.starts_with(group)) text += parameter.id + " " + parameter.meaning + "\n";
    }
    return text;
}

}  // namespace

TEST_CASE("a group is like another", "[schema]") {
    const Device device = loaded("");
    const Release& release = *device.releases.at(0).schema;
    CHECK(in_pad(release) ==
          "pad.used pad.used\npad.on pad.on\npad.model pad.model\npad.voice.drive pad.voice.drive\n"
          "pad.voice.bite pad.voice.bite\n");
    CHECK(release.find("pad.used")->storage.pieces.at(0).byte == 3);  // its own
    CHECK_FALSE(release.find("pad.used")->plain.range);
    CHECK(release.find("pad.model")->plain.choices->find("Weir")->number == 1);
    CHECK(release.find("pad.voice.drive")->when->name == "pad.model");
    CHECK(release.find("pad.voice.bite")->when->name == "amp[2].on");  // brackets name what they named
    REQUIRE(release.groups.size() == 4);
    CHECK(release.groups.at(3).path == "pad.voice");
    CHECK(release.groups.at(3).parent == 2);
    CHECK(release.groups.at(3).selected_by == "pad.used");
    CHECK(in_pad(*device.releases.at(1).schema) == in_pad(release));
}

TEST_CASE("likenesses follow later changes", "[schema]") {
    const Device device = loaded(R"(, "parameters": {
        "amp.model": { "choices": { "rename": { "Weir": "Ford" } } }, "amp.level": { "at": 3 }, "amp.voice.bite": null,
        "amp.voice.drive": { "range": [0, 5] } })");
    const Release& release = *device.releases.at(1).schema;
    CHECK(in_pad(release) ==
          "pad.used pad.used\npad.on pad.on\npad.model pad.model\npad.voice.drive pad.voice.drive\n"
          "pad.level pad.level\n");
    CHECK(release.find("pad.voice.drive")->plain.range == schema::Range{0, 5});
    CHECK(release.find("pad.model")->plain.choices->find("Ford")->meaning == "Weir");
    CHECK(release.find("pad.voice.drive")->when->settings.at(0) == schema::Setting{std::string("Ford")});
}

TEST_CASE("what a release changes of a likeness is its own from then on", "[schema]") {
    const Device device = must_load(wren({{"1.0", first_release},
                                          {"1.1", R"("extends": "1.0", "parameters": {
        "pad.voice.drive": { "range": [0, 3] }, "pad.model": { "choices": { "add": { "Mill": 2 } } } })"},
                                          {"1.2", R"("extends": "1.1", "parameters": {
        "amp.voice.drive": { "range": [0, 5] }, "amp.model": { "choices": { "add": { "Ford": 7 } } } })"}}));
    for (const std::size_t order : {1u, 2u}) {
        const Release& release = *device.releases.at(order).schema;
        CHECK(release.find("pad.voice.drive")->plain.range == schema::Range{0, 3});
        CHECK(release.find("pad.voice.drive")->when->name == "pad.model");
        CHECK(release.find("pad.model")->plain.choices->choices.size() == 3);
        CHECK(release.find("pad.model")->meaning == "pad.model");
    }
}

TEST_CASE("likenesses may be left out, renamed and given up", "[schema]") {
    const Device device = must_load(wren({{"1.0", first_release},
                                          {"1.1", R"("extends": "1.0", "parameters": { "pad.voice.bite": null,
        "pad.kind": { "renamed-from": "pad.model" } })"},
                                          {"1.2", R"("extends": "1.1", "groups": { "mat": { "renamed-from": "pad" },
        "head": { "renamed-from": "amp" } })"},
                                          {"1.3", R"("extends": "1.2", "groups": {
        "mat": { "like": null, "on-by": null } })"}}));
    const auto& releases = device.releases;
    CHECK(in_pad(*releases.at(1).schema) ==
          "pad.used pad.used\npad.on pad.on\npad.kind pad.model\npad.voice.drive pad.voice.drive\n");
    CHECK(in_pad(*releases.at(2).schema, "mat.") ==
          "mat.used pad.used\nmat.on pad.on\nmat.kind pad.model\nmat.voice.drive pad.voice.drive\n");
    CHECK(releases.at(2).schema->find("mat.voice.drive")->when->name == "mat.kind");
    CHECK(in_pad(*releases.at(3).schema, "mat.") == "mat.used pad.used\nmat.kind pad.model\n");
}

TEST_CASE("a group is like one that is like a third", "[schema]") {
    const Device device = must_load(wren({{"1.0", R"(
      "groups": { "c": { "at": 20, "like": "b" }, "b": { "at": 10, "like": "a" }, "a": { "at": 0 },
                  "a.in": { "at": 3, "like": "d" }, "d": { "at": 40 } },
      "parameters": { "a.x": { "at": 0 }, "b.y": { "at": 1 }, "d.z": { "at": 2, "when": { "parameter": "d.z2", "is": 1 } },
                      "d.z2": { "at": 3 } })"}}));
    const Release& release = *device.releases.at(0).schema;
    CHECK(in_pad(release, "c.") == "c.y c.y\nc.x c.x\nc.in.z c.in.z\nc.in.z2 c.in.z2\n");
    CHECK(release.find("c.in.z")->when->name == "c.in.z2");
}

}  // namespace downfit::testing
