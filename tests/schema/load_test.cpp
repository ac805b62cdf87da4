// Whole devices: the Siskin in all its parts, the examples of the manual, release order, stamps, framings, limits.
#include "schema/load.h"
#include "schema/policy.h"
#include "schema/rig.h"
#include "schema/substitutes.h"

#include <map>
#include <string>
#include <vector>

#include "base/digest.h"
#include "base/near_miss.h"
#include "midi/seven_bit.h"
#include "schema/siskin.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

using schema::Device;
using schema::Release;
using schema::Rule;
using schema::Setting;
using schema::SourceFile;
using schema::Stamp;

ByteView bytes_of(const std::string& text) {
    return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

/// The contents of all ```json blocks of a page, in order.
std::vector<std::string> json_blocks(const std::string& page) {
    std::vector<std::string> blocks;
    const std::string open = "```json\n", close = "\n```";
    for (std::size_t at = page.find(open); at != std::string::npos; at = page.find(open, at)) {
        at += open.size();
        const std::size_t end = page.find(close, at);
        blocks.push_back(page.substr(at, end - at));
    }
    return blocks;
}

/// What is wrong with a device and its one release; empty if nothing is.
std::string load_block(const std::string& device, const std::string& release) {
    return problem_lines(schema::load_device({{"device.json", device}, {"1.0.json", release}}));
}

const std::string big_device =
    R"({ "format": "downfit device 1", "device": "wren", "releases": ["1.0", "2.00"], "layouts": {
    "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {data...} F7" } }, "preset": ["preset"],
                "body": { "size": 2048 } } } })";
const std::string named_device =
    R"({ "format": "downfit device 1", "device": "wren", "releases": ["1.0"], "layouts": {
    "bank":    { "messages": { "preset": { "bytes": "F0 7D 09 01 {slot} {data...} F7" } }, "preset": ["preset"],
                 "body": { "records": { "from": 0, "head": ["id", "length"] } } },
    "old":     { "messages": { "preset": { "bytes": "F0 7D 09 02 {slot} {data...} F7" } }, "preset": ["preset"],
                 "body": { "records": { "from": 0, "head": ["id", "length"] } } },
    "image":   { "messages": { "preset": { "bytes": "F0 7D 09 03 {slot} {data...} F7" } }, "preset": ["preset"],
                 "body": { "size": 128 } },
    "export":  { "as": "json", "presets": "/sounds/*" },
    "library": { "as": "xml", "presets": "/bank/preset" } } })";
const std::string head = R"({ "format": "downfit release 1", "device": "wren", "release": "1.0", )";

}  // namespace

TEST_CASE("a device is read whole", "[schema]") {
    const Device device = must_load(siskin());
    CHECK(device.name == "siskin");
    CHECK(device.title == "Siskin");
    CHECK(device.maker == "Quillfeather");
    CHECK(device.words == std::map<std::string, std::string>{{"alternate", "voice"}});
    CHECK(device.slots.first == 1);
    CHECK(device.slots.count == 64);
    CHECK(device.file == "device.json");
    CHECK(device.digest == sha256_hex(bytes_of(siskin()[0].text)));
    REQUIRE(device.assets.size() == 1);
    CHECK(device.assets[0].contents == std::map<int, std::string>{{1, "Open"}});
    REQUIRE(device.layouts.size() == 1);
    CHECK(device.layouts[0].volatile_bytes == std::vector<ByteSpan>{{2, 2}});
    REQUIRE(device.framings.size() == 1);
    const schema::Framing& framing = device.framings[0];
    REQUIRE(framing.messages.size() == 2);
    CHECK(framing.messages[0].parts.size() == 8);
    CHECK(framing.messages[0].parts[4].name == "slot");
    CHECK(framing.messages[0].parts[4].length == 2);
    CHECK(framing.preset == std::vector<schema::AssemblyPart>{{0, false}, {1, true}});
    const auto& unpack = std::get<schema::UnpackStep>(framing.messages[1].steps.at(0));
    CHECK(unpack.order == static_cast<std::uint8_t>(midi::SevenBit::Order::first_high));
    const auto& check = std::get<schema::CheckStep>(framing.steps.at(0));
    CHECK(check.check == midi::Check::crc_16_xmodem);
    CHECK((check.from == 0 && check.to == -2 && check.at == -2 && check.little_endian));
    CHECK(std::get<schema::UnpackStep>(framing.steps.at(1)).key == Bytes{0x5A, 0x3C});
    CHECK(framing.stamp == schema::BodyNumber{0, 2, false});
    CHECK(framing.empty == std::vector{schema::BodyBytes{0, {0xFF, 0xFF}}});
}

TEST_CASE("a release is read whole", "[schema]") {
    const Device device = must_load(siskin());
    REQUIRE(device.releases.size() == 2);
    CHECK(device.releases[1].date == "2024-05-01");
    const Release& first = *device.releases[0].schema;
    CHECK(first.stamps == std::vector<Stamp>{std::int64_t{10}});
    CHECK(first.rules[Rule::out_of_range] == schema::Action::clamp);
    CHECK_FALSE(first.rules[Rule::off_step]);
    CHECK(first.rules.tolerance == 0.5);
    CHECK(first.variants.at(0).limits == std::map<std::string, int>{{"amp", 1}});
    CHECK(first.accepts.at(0).stamp->settings == std::vector<Setting>{"1.1"});
    CHECK(first.repairs.at(0).read_as == Bytes{0});
    const schema::Parameter& name = *first.find("name");
    CHECK(name.kind == schema::Kind::text);
    CHECK(name.storage.text_length == 12);
    CHECK(name.storage.padding == 0);
    CHECK(name.storage.encoding == schema::Encoding::latin1);
    const schema::Parameter& volume = *first.find("volume");
    CHECK(volume.kind == schema::Kind::real);
    CHECK(volume.plain.unit == schema::Unit::db);
    CHECK(volume.plain.role == schema::Role::level);
    CHECK(volume.plain.range == schema::Range{-60, 6});
    const schema::Parameter& wide = *first.find("wide");
    CHECK(wide.storage.coding == schema::Coding::offset_binary);
    CHECK(wide.storage.width() == 7);
    CHECK(first.find("amp.on")->plain.preset_default == Setting{1.0});
    CHECK(first.find("scene.amp-on")->as_base == 255);
    CHECK(first.find("scene.amp-on")->overrides == "amp[1].on");
    CHECK(first.find("pedal.toe")->rules[Rule::out_of_range] == schema::Action::reset);
    CHECK(first.find("cabinet")->refers_to == "impulse-response");
    CHECK(first.find("cabinet")->nothing == 0);
    CHECK(first.groups.at(3).heel == "pedal.heel");
    CHECK(first.layouts.at(0).body_size == 128);
    const Release& second = *device.releases[1].schema;
    CHECK(second.layouts.at(0).body_size == 160);
    CHECK(second.layouts.at(0).framing == first.layouts.at(0).framing);
    CHECK(second.stamps == std::vector<Stamp>{std::int64_t{11}});
    CHECK(second.revoiced.at(0).label == "Weir");
    CHECK(second.revoiced.at(0).level_change == 2.5);
    CHECK(second.returns_to == "1.0");
}

TEST_CASE("the manual's smallest device loads", "[schema]") {
    const auto blocks = json_blocks(read_text(project_folder() / "docs" / "formats.md"));
    REQUIRE(blocks.size() > 3);
    const Device device = must_load({{"device.json", blocks[0]}, {"1.0.json", blocks[1]}, {"1.1.json", blocks[2]}});
    const schema::ChoiceList& modes = *device.releases.at(1).schema->find("mode")->plain.choices;
    CHECK(modes.find("Hall")->number == 2);
    CHECK(modes.find("Plate")->number == 1);
}

TEST_CASE("the manual's other examples load", "[schema]") {
    for (const std::string& block : json_blocks(read_text(project_folder() / "docs" / "formats.md"))) {
        CAPTURE(block);
        if (block.starts_with("\"layouts\"")) {
            const std::string device =
                R"({ "format": "downfit device 1", "device": "wren", "releases": ["1.0"], )" + block + " }";
            CHECK(load_block(device, head + "\"stamp\": 1 }").empty());
        } else if (block.starts_with("\"groups\"") && block.find("\"parameters\"") != std::string::npos) {
            CHECK(load_block(named_device, head + block + " }").empty());
        } else if (block.starts_with("\"groups\"")) {
            const std::string parameters =
                R"("parameters": { "start-scene": { "at": 0 }, "amp.on": { "at": 0, "kind": "switch" },
                "amp.voice": { "at": 1 }, "pedal.target": { "at": 0, "refers-to": "parameter" }, "pedal.heel": { "at": 1 },
                "pedal.toe": { "at": 2 }, "footswitch.target": { "at": 0, "refers-to": "parameter" } })";
            CHECK(load_block(big_device, head + block + ", " + parameters + " }").empty());
        } else if (block.starts_with("\"accepts\"")) {
            CHECK(load_block(big_device, head + block + " }").empty());
        }
    }
}

TEST_CASE("the manual's whole devices load, and its policy, its rig and its substitutes are read", "[schema]") {
    std::size_t policies = 0, rigs = 0, substitutes = 0;
    std::map<std::string, std::vector<SourceFile>> devices;
    for (const std::string& block : json_blocks(read_text(project_folder() / "docs" / "formats.md"))) {
        if (block.find("\"downfit policy 1\"") != std::string::npos) {
            ++policies;
            CHECK(schema::read_policy({"policy.json", block}).ok());
            continue;
        }
        if (block.find("\"downfit rig 1\"") != std::string::npos) {
            ++rigs;
            CHECK(schema::read_rig({"rig.json", block}).ok());
            continue;
        }
        if (block.find("\"downfit substitutes 1\"") != std::string::npos) {
            ++substitutes;
            CHECK(schema::read_substitutes({"substitutes.json", block}).ok());
            continue;
        }
        const std::string key = "\"device\": \"";
        const std::size_t at = block.find(key);
        if (block.find("\"format\"") == std::string::npos || at == std::string::npos) continue;
        const std::size_t start = at + key.size();
        auto& files = devices[block.substr(start, block.find('"', start) - start)];
        files.push_back({std::to_string(files.size()), block});
    }
    CHECK(policies == 1);
    CHECK(rigs == 1);
    CHECK(substitutes == 1);
    CHECK(devices.size() == 5);
    for (const auto& [name, files] : devices) {
        CAPTURE(name);
        CHECK(files.size() >= 2);
        CHECK(problem_lines(schema::load_device(files)).empty());
    }
}

TEST_CASE("the order of releases is the order of the list", "[schema]") {
    // Pairs on which readers of version numbers disagree: as decimals, by component, or by letter.
    const std::vector<std::vector<std::string>> lists{
        {"3.1", "3.09", "3.9", "3.10"},
        {"3.10 beta 2", "3.10 beta 10", "public beta 1", "rc 1", "3.10", "v3.1"},
        {"2.0", "1.0.0", "1.0", "1.0.0+a", "0.9"}};
    for (const auto& names : lists) {
        std::vector<SmallRelease> releases;
        for (const std::string& name : names) releases.push_back({name, "\"parameters\": {}"});
        auto files = wren(releases);
        std::reverse(files.begin(), files.end());
        const Device device = must_load(files);
        REQUIRE(device.releases.size() == names.size());
        for (std::size_t i = 0; i < names.size(); ++i) {
            CHECK(device.releases[i].name == names[i]);
            CHECK(device.releases[i].schema->order == i);
            CHECK(device.find_release(names[i]) == i);
        }
        CHECK_FALSE(device.find_release("3.2"));
    }
}

TEST_CASE("a listed release may be without a file", "[schema]") {
    auto files = siskin();
    files.pop_back();
    const Device device = must_load(files);
    CHECK(device.releases.at(0).schema.has_value());
    CHECK_FALSE(device.releases.at(1).schema.has_value());
    CHECK(device.releases.at(1).stamps == std::vector<Stamp>{std::int64_t{11}});
}

TEST_CASE("stamps name releases", "[schema]") {
    const Device device =
        must_load(wren({{"1.0", "\"stamp\": 7"}, {"1.1", "\"stamp\": [7, \"1.1\"]"}, {"2.0", "\"parameters\": {}"}}));
    CHECK(device.releases_with(std::int64_t{7}) == std::vector<std::size_t>{0, 1});
    CHECK(device.releases_with(std::string("1.1")) == std::vector<std::size_t>{1});
    CHECK(device.releases_with(std::int64_t{8}).empty());
    CHECK(device.releases.at(2).stamps.empty());
}

TEST_CASE("releases that frame alike share a framing", "[schema]") {
    const std::string other = R"("extends": "1.0", "layouts": { "preset": { "messages": { "preset": {
        "bytes": "F0 7D 09 01 {slot} {data...} F7" } } } })";
    const Device device =
        must_load(wren({{"1.0", "\"stamp\": 1"},
                        {"1.1", R"("extends": "1.0", "layouts": { "preset": { "body": { "size": 70 } } })"},
                        {"2.0", other},
                        {"2.1", R"("extends": "2.0")"}}));
    CHECK(device.framings.size() == 2);
    std::vector<std::size_t> framings;
    for (const schema::ReleaseEntry& entry : device.releases) framings.push_back(entry.schema->layouts.at(0).framing);
    CHECK(framings == std::vector<std::size_t>{0, 0, 1, 1});
}

TEST_CASE("files without a device", "[schema]") {
    CHECK(problem_lines(schema::load_device({})) ==
          " | none of the files describes the device | one file with \"format\": \"downfit device 1\" | \n");
    CHECK(problem_lines(schema::load_device({{"big.json", std::string(16u * 1024 * 1024 + 1, ' ')}})) ==
          "big.json | the file has 16777217 bytes | at most 16 MiB | \n"
          " | none of the files describes the device | one file with \"format\": \"downfit device 1\" | \n");
}

TEST_CASE("all problems of all files are told", "[schema]") {
    auto files = siskin_with("1.0.json", R"("unit": "dB")", R"("unit": "db")");
    files[2].text = "{";
    CHECK(problem_lines(schema::load_device(files)) ==
          "1.0.json:13:34 /parameters/volume/unit | \"unit\" is text \"db\" | \"dB\", \"Hz\", \"kHz\", \"ms\", \"s\", "
          "\"cents\", "
          "\"semitones\", \"bpm\", \"%\", \"ratio\" or \"degrees\" | did you mean \"dB\"?\n"
          "1.1.json:1:2  | the file ends too early | a key in quotes or \"}\" | the \"{\" in line 1 is still open\n");
}

TEST_CASE("the device of the demo loads", "[schema]") {
    std::vector<SourceFile> files;
    for (const auto& entry : std::filesystem::directory_iterator(project_folder() / "schemas" / "dunlin-6")) {
        files.push_back({entry.path().filename().string(), read_text(entry.path())});
    }
    CHECK(problem_lines(schema::load_device(files)).empty());
}

TEST_CASE("digests", "[schema]") {
    // FIPS 180-4 examples: "abc" and the empty message.
    CHECK(sha256_hex(bytes_of("abc")) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256_hex({}) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST_CASE("near misses", "[schema]") {
    CHECK(edit_distance("kitten", "sitting") == 3);
    CHECK(edit_distance("rnage", "range") == 1);  // two neighbours swapped
    CHECK(edit_distance("", "abc") == 3);
    const std::vector<std::string_view> words{"range", "plays", "step", "dB"};
    CHECK(nearest_word("rnage", words) == "range");
    CHECK(nearest_word("DB", words) == "dB");
    CHECK(nearest_word("RANGE", words) == "range");
    CHECK_FALSE(nearest_word("volume", words));
    CHECK_FALSE(nearest_word("x", words));
    CHECK_FALSE(nearest_word("range", {}));
    CHECK(did_you_mean("setp", words) == "did you mean \"step\"?");
    CHECK(did_you_mean("volume", words).empty());
}

}  // namespace downfit::testing
