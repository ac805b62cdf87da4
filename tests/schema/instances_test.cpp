// Instances: ids, keys and places of what groups repeat, and how ids are resolved.
#include "schema/instances.h"

#include <string>

#include "schema/siskin.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using schema::Instances;

/// "id key byte" for each field, one in each line.
std::string listed(const Instances& instances) {
    std::string text;
    for (const schema::Field& field : instances.fields()) {
        const bool is_text = field.storage.coding == schema::Coding::text;
        const std::int64_t byte = is_text ? field.storage.text_at : field.storage.pieces.at(0).byte;
        text += field.id + " " + field.key + " " + std::to_string(byte) + "\n";
    }
    return text;
}

std::string resolved(const Instances& instances, std::string_view id, int from) {
    const auto field = instances.resolve(id, from);
    return field ? instances.fields()[*field].id : "nothing";
}

int group_of(const Instances& instances, std::string_view key) {
    const auto group = instances.find_group_key(key);
    REQUIRE(group);
    return static_cast<int>(*group);
}

const std::string nested = R"(
  "groups": {
    "amp": { "at": 8, "count": 2, "stride": -8 }, "amp.voice": { "at": 2, "count": 2, "stride": 3 },
    "rack": { "at": 20 }, "rack.unit": { "at": 1, "count": 2, "stride": 2 },
    "scene": { "kind": "scene", "at": 30, "count": 3, "stride": 4 }, "scene.amp": { "at": 1, "count": 2, "stride": 1 } },
  "parameters": {
    "amp.voice.drive": { "at": 1, "as": "uint16", "order": "little" }, "name": { "at": 50, "as": "text", "length": 4 },
    "amp.level": { "at": 0 }, "rack.unit.on": { "at": 0 }, "scene.amp.level": { "at": 0, "overrides": "amp.level" } })";

}  // namespace

TEST_CASE("groups repeat their parameters", "[schema]") {
    const schema::Device device = must_load(wren({{"1.0", nested}}));
    const Instances instances(*device.releases[0].schema);
    CHECK(listed(instances) ==
          "name name 50\n"
          "amp[1].level amp.level#1 8\n"
          "amp[1].voice[1].drive amp.voice.drive#1.1 12\n"
          "amp[1].voice[2].drive amp.voice.drive#1.2 15\n"
          "amp[2].level amp.level#2 0\n"
          "amp[2].voice[1].drive amp.voice.drive#2.1 4\n"
          "amp[2].voice[2].drive amp.voice.drive#2.2 7\n"
          "rack.unit[1].on rack.unit.on#1.1 21\n"
          "rack.unit[2].on rack.unit.on#1.2 23\n"
          "scene[1].amp[1].level scene.amp.level#1.1 31\n"
          "scene[1].amp[2].level scene.amp.level#1.2 32\n"
          "scene[2].amp[1].level scene.amp.level#2.1 35\n"
          "scene[2].amp[2].level scene.amp.level#2.2 36\n"
          "scene[3].amp[1].level scene.amp.level#3.1 39\n"
          "scene[3].amp[2].level scene.amp.level#3.2 40\n");
    const schema::Field& drive = instances.fields().at(2);
    CHECK(drive.storage.pieces.at(0) == schema::BitPiece{12, 0, 8});  // little-endian: the high byte is the second
    CHECK(drive.storage.pieces.at(1) == schema::BitPiece{11, 0, 8});
}

TEST_CASE("group instances know their parents", "[schema]") {
    const schema::Device device = must_load(wren({{"1.0", nested}}));
    const Instances instances(*device.releases[0].schema);
    for (std::size_t i = 0; i < instances.groups().size(); ++i) {
        const schema::GroupInstance& group = instances.groups()[i];
        CHECK(group.parent < static_cast<int>(i));
        CHECK(instances.find_group_key(group.key) == i);
    }
    const schema::GroupInstance& voice =
        instances.groups().at(static_cast<std::size_t>(group_of(instances, "amp.voice#2.1")));
    CHECK(voice.id == "amp[2].voice[1]");
    CHECK(voice.base == 2);
    CHECK(voice.indices == std::vector<int>{2, 1});
    CHECK(instances.groups().at(static_cast<std::size_t>(group_of(instances, "rack.unit#1.2"))).id == "rack.unit[2]");
}

TEST_CASE("ids are resolved from where they are named", "[schema]") {
    const schema::Device device = must_load(wren({{"1.0", nested}}));
    const Instances instances(*device.releases[0].schema);
    const int voice = group_of(instances, "amp.voice#2.1");
    const int scene_amp = group_of(instances, "scene.amp#3.2");
    CHECK(resolved(instances, "amp.voice.drive", voice) == "amp[2].voice[1].drive");
    CHECK(resolved(instances, "amp.level", voice) == "amp[2].level");
    CHECK(resolved(instances, "amp.level", scene_amp) == "amp[2].level");
    CHECK(resolved(instances, "scene.amp.level", scene_amp) == "scene[3].amp[2].level");
    CHECK(resolved(instances, "scene.amp.level", voice) == "scene[1].amp[2].level");
    CHECK(resolved(instances, "amp.voice.drive", -1) == "amp[1].voice[1].drive");
    CHECK(resolved(instances, "amp[1].voice.drive", voice) == "amp[1].voice[1].drive");
    CHECK(resolved(instances, "amp.voice[2].drive", voice) == "amp[2].voice[2].drive");
    CHECK(resolved(instances, "rack[1].unit[2].on", -1) == "rack.unit[2].on");
    CHECK(resolved(instances, "name", voice) == "name");
    for (const std::string_view wrong :
         {"amp[3].level", "amp.drive", "", "amp[0].level", "amp[x].level", "amp..level", "level"}) {
        CAPTURE(wrong);
        CHECK(resolved(instances, wrong, -1) == "nothing");
    }
}

TEST_CASE("keys are the same for the same thing in every release", "[schema]") {
    const schema::Device device =
        must_load(wren({{"1.0", nested}, {"1.1", R"("extends": "1.0", "groups": { "head": { "renamed-from": "amp" } },
                                          "parameters": { "head.volume": { "renamed-from": "amp.level" } })"}}));
    const Instances older(*device.releases[0].schema);
    const Instances newer(*device.releases[1].schema);
    for (const schema::Field& field : older.fields()) {
        CAPTURE(field.key);
        CHECK(newer.find_key(field.key));
    }
    CHECK(newer.fields().at(newer.find_key("amp.level#2").value()).id == "head[2].volume");
    CHECK_FALSE(newer.find_key("head.volume#2"));
    CHECK_FALSE(newer.find_group_key("head#1"));
}

}  // namespace downfit::testing
