// Images, raw files, records, lists, costs and open stamps: what the Redpoll's files say, as the model has it.
#include <string>

#include "schema/device.h"
#include "schema/instances.h"
#include "schema/redpoll.h"
#include "schema/siskin.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using schema::Anchor;
using schema::Device;
using schema::Framing;
using schema::HeadPart;
using schema::Instances;
using schema::Release;
using schema::Stamp;

const Framing& framing_of(const Device& device, std::size_t layout) {
    return device.framings.at(device.layouts.at(layout).framing);
}

/// "id key" and the place of each field that lies in records: "amp[1]#1/5#2+1" is the place 1 in the second record 5 in
/// the first record of amp[1].
std::string listed_records(const Instances& instances) {
    std::string text;
    for (const schema::Field& field : instances.fields()) {
        std::string path;
        for (int a = field.anchor; a >= 0; a = instances.anchors()[static_cast<std::size_t>(a)].parent) {
            const Anchor& anchor = instances.anchors()[static_cast<std::size_t>(a)];
            path = "/" + std::to_string(anchor.tag) + "#" + std::to_string(anchor.nth) + path;
        }
        const bool is_text = field.storage.coding == schema::Coding::text;
        const std::int64_t byte = is_text ? field.storage.text_at : field.storage.pieces.at(0).byte;
        text += field.id + " " + field.key + " " + path + "+" + std::to_string(byte) + "\n";
    }
    return text;
}

std::vector<std::size_t> meant(const Device& device, std::int64_t number) {
    return device.releases_with(Stamp{number});
}

}  // namespace

TEST_CASE("an image with addresses is read whole", "[schema]") {
    const Device device = must_load(redpoll());
    const Framing& bank = framing_of(device, 0);
    REQUIRE(bank.image);
    CHECK(*bank.image == schema::ImageRule{{{1, true}}, "address", 2, 1024});
    CHECK(bank.preset.empty());
    CHECK(bank.dump == std::vector<schema::AssemblyPart>{{0, false}});
    REQUIRE(bank.presets.size() == 1);
    CHECK(bank.presets[0] == schema::PresetRun{4, 1, {{300, -100, 100, std::nullopt}, {1000, 8, 8, std::size_t{3}}}});
    CHECK(bank.filled == schema::BodyBytes{0, {0x50}});
    CHECK(bank.empty == std::vector<schema::BodyBytes>{{0, {0xFF}}, {4, {0x00, 0x00}}});
    const auto& in_message = std::get<schema::LengthStep>(bank.messages.at(1).steps.at(0));
    CHECK(in_message == schema::LengthStep{{"data"}, "size", 0, 0, 0, 1, false, 1});
    const auto& in_image = std::get<schema::LengthStep>(bank.steps.at(0));
    CHECK(in_image == schema::LengthStep{{}, "", 0, -2, -2, 2, true, 0});
}

TEST_CASE("a raw file and runs of records are read whole", "[schema]") {
    const Device device = must_load(redpoll());
    const Framing& file = framing_of(device, 1);
    CHECK(file.raw);
    CHECK(file.begins_with == Bytes{0x52, 0x50});
    CHECK(std::get<schema::UnpackStep>(file.steps.at(0)).packing == schema::UnpackStep::Packing::encrypted);
    const Release& release = *device.releases.at(0).schema;
    using Part = HeadPart::Kind;
    CHECK(
        *release.layouts.at(0).records ==
        schema::Records{4, {{Part::id, 1, false}, {Part::length, 2, true}, {Part::version, 1, false}}, 0, true, 0xFF});
    CHECK(*release.layouts.at(1).records == schema::Records{0, {{Part::id, 2, true}}, 4, false, 0x0201});
    CHECK(release.layouts.at(0).body_size == 0);
}

TEST_CASE("groups of records, lists, reads and costs are read whole", "[schema]") {
    const Device device = must_load(redpoll());
    const Release& release = *device.releases.at(0).schema;
    CHECK(release.budget == 100.0);
    CHECK(release.variants.at(0).budget == 40.0);
    CHECK(device.releases.at(1).schema->budget == 100.0);  // inherited
    const schema::Group& amp = release.groups.at(0);
    CHECK(amp.tag == 3);
    CHECK(amp.version_at_most == 2);
    CHECK(amp.version_refuses == schema::Refuses::preset);
    CHECK(amp.records->from == 8);
    CHECK(amp.cost->by == "amp.model");
    CHECK(amp.cost->costs == std::map<std::string, double>{{"Brook", 10}});
    CHECK(amp.cost->plain == 4);
    CHECK(device.releases.at(1).schema->groups.at(0).cost->costs == std::map<std::string, double>{{"Stream", 10}});
    CHECK(release.groups.at(1).count_by == "amp.taps");
    CHECK(release.find("cabinet")->refers_by == schema::RefersBy::name);
    CHECK(release.find("cabinet")->plain.preset_default == schema::Setting{std::string("Open")});

    const schema::Parameter& curve = *release.find("curve");
    CHECK(curve.tag == 18);
    CHECK(curve.list_count == 3);
    CHECK(curve.list_stride == 2);
    CHECK(curve.count_by == "points");
    REQUIRE(curve.reads.size() == 1);
    CHECK(curve.reads[0].when.subject == schema::Condition::Subject::bytes);
    CHECK(curve.reads[0].when.bytes == Bytes{0x50});
    CHECK(curve.reads[0].storage.coding == schema::Coding::twos_complement);
    CHECK(curve.reads[0].meaning.range == schema::Range{-5, 5});
    CHECK_FALSE(curve.plain.range);
    const schema::Condition& version = release.find("amp.voice.drive")->when->parts.at(0);
    CHECK(version.subject == schema::Condition::Subject::version);
    CHECK(version.settings == std::vector<schema::Setting>{2.0});
}

TEST_CASE("fields lie in records", "[schema]") {
    const Device device = must_load(redpoll());
    const Instances instances(*device.releases.at(0).schema);
    CHECK(listed_records(instances) ==
          "points points +1\n"
          "tempo tempo /17#1+0\n"
          "swing swing /17#1+2\n"
          "curve[1] curve/1 /18#1+0\n"
          "curve[2] curve/2 /18#1+2\n"
          "curve[3] curve/3 /18#1+4\n"
          "cabinet cabinet /20#1+0\n"
          "amp[1].on amp.on#1 /3#1/1#1+0\n"
          "amp[1].model amp.model#1 /3#1/2#1+0\n"
          "amp[1].taps amp.taps#1 /3#1/6#1+0\n"
          "amp[1].tap[1].level amp.tap.level#1.1 /3#1/5#1+1\n"
          "amp[1].tap[2].level amp.tap.level#1.2 /3#1/5#2+1\n"
          "amp[1].voice[1].drive amp.voice.drive#1.1 /3#1+3\n"
          "amp[1].voice[2].drive amp.voice.drive#1.2 /3#1+6\n"
          "amp[2].on amp.on#2 /3#2/1#1+0\n"
          "amp[2].model amp.model#2 /3#2/2#1+0\n"
          "amp[2].taps amp.taps#2 /3#2/6#1+0\n"
          "amp[2].tap[1].level amp.tap.level#2.1 /3#2/5#1+1\n"
          "amp[2].tap[2].level amp.tap.level#2.2 /3#2/5#2+1\n"
          "amp[2].voice[1].drive amp.voice.drive#2.1 /3#2+3\n"
          "amp[2].voice[2].drive amp.voice.drive#2.2 /3#2+6\n"
          "pad.taps pad.taps#1 /4#1/7#1+0\n"
          "pad.on pad.on#1 /4#1/1#1+0\n"
          "pad.model pad.model#1 /4#1/2#1+0\n"
          "pad.tap[1].level pad.tap.level#1.1 /4#1/5#1+1\n"
          "pad.tap[2].level pad.tap.level#1.2 /4#1/5#2+1\n"
          "pad.voice[1].drive pad.voice.drive#1.1 /4#1+3\n"
          "pad.voice[2].drive pad.voice.drive#1.2 /4#1+6\n"
          "step[1].pitch step.pitch#1 /30#1+0\n"
          "step[2].pitch step.pitch#2 /30#2+0\n"
          "step[3].pitch step.pitch#3 /30#3+0\n");
    for (std::size_t a = 0; a < instances.anchors().size(); ++a) {
        const Anchor& anchor = instances.anchors()[a];
        CHECK(anchor.parent < static_cast<int>(a));
        if (anchor.group >= 0)
            CHECK(instances.groups().at(static_cast<std::size_t>(anchor.group)).anchor == static_cast<int>(a));
    }
}

TEST_CASE("parameters share a record, lists have elements, and reads move along", "[schema]") {
    const Device device = must_load(redpoll());
    const Instances instances(*device.releases.at(0).schema);
    const auto field = [&](std::string_view key) { return instances.fields().at(instances.find_key(key).value()); };
    CHECK(field("tempo").anchor == field("swing").anchor);
    CHECK(field("points").anchor == -1);
    CHECK(field("points").element == 0);
    CHECK(field("curve/3").element == 3);
    CHECK(field("curve/3").reads.at(0).pieces.at(0).byte == 3 + 4);
    CHECK(instances.resolve("curve", -1) == instances.find_key("curve/1"));
}

TEST_CASE("a list in a group that is no record", "[schema]") {
    const Device device =
        must_load(wren({{"1.0", R"("groups": { "step": { "at": 8, "count": 2, "stride": 20 } }, "parameters": {
        "step.name": { "at": 0, "as": "text", "length": 4, "list": { "count": 2 } },
        "step.flag": { "at": 19, "as": "bits", "bit": 3, "width": 1, "list": { "count": 2, "stride": -1 },
                       "reads": [{ "when": { "stamp": { "is": "1.0" } }, "range": [0, 0] }] } })"}}));
    const Instances instances(*device.releases.at(0).schema);
    CHECK(listed_records(instances) ==
          "step[1].name[1] step.name#1/1 +8\n"
          "step[1].name[2] step.name#1/2 +12\n"
          "step[1].flag[1] step.flag#1/1 +27\n"
          "step[1].flag[2] step.flag#1/2 +26\n"
          "step[2].name[1] step.name#2/1 +28\n"
          "step[2].name[2] step.name#2/2 +32\n"
          "step[2].flag[1] step.flag#2/1 +47\n"
          "step[2].flag[2] step.flag#2/2 +46\n");
    CHECK(instances.fields().back().reads.at(0) == instances.fields().back().storage);
}

TEST_CASE("open ranges of stamps", "[schema]") {
    const Device device = must_load(wren({{"1.0", R"("stamp": 10)"},
                                          {"1.1", R"("stamp": { "from": 20 })"},
                                          {"1.2", R"("stamp": [30, "1.2"])"},
                                          {"2.0", R"("stamp": { "from": 40 })"},
                                          {"2.1", R"("stamp": { "from": 40 })"}}));
    CHECK(device.releases.at(1).stamps == std::vector<Stamp>{std::int64_t{20}});
    CHECK(device.releases.at(1).stamp_from == 20);
    CHECK(meant(device, 20) == std::vector<std::size_t>{1});
    CHECK(meant(device, 29) == std::vector<std::size_t>{1});
    CHECK(meant(device, 30) == std::vector<std::size_t>{2});
    CHECK(meant(device, 31) == std::vector<std::size_t>{2, 3, 4});  // between two known ones
    CHECK(meant(device, 1000) == std::vector<std::size_t>{3, 4});
    CHECK(meant(device, 9).empty());
    CHECK(device.releases_with(Stamp{std::string("1.3")}).empty());
}

TEST_CASE("stamps between two known ones", "[schema]") {
    const std::vector<std::pair<std::string, std::vector<std::size_t>>> rows{
        {"", {0, 1, 2}},
        {R"("unlisted-stamps": "neighbours",)", {0, 1, 2}},
        {R"("unlisted-stamps": "older",)", {0, 1}},
        {R"("unlisted-stamps": "newer",)", {2}},
        {R"("unlisted-stamps": "unknown",)", {}},
    };
    for (const auto& [key, releases] : rows) {
        CAPTURE(key);
        auto files = wren({{"1.0", R"("stamp": 10)"}, {"1.1", R"("stamp": 10)"}, {"2.0", R"("stamp": 20)"}});
        files[0].text.replace(1, 0, " " + key);
        const Device device = must_load(files);
        CHECK(meant(device, 15) == releases);
        CHECK(meant(device, 10) == std::vector<std::size_t>{0, 1});
        CHECK(meant(device, 5).empty());
        CHECK(meant(device, 21).empty());
    }
}

}  // namespace downfit::testing
