// What is loaded as it stands, what a refusal takes, and what is asked of nobody: worked out by hand from
// docs/formats.md.
#include <memory>
#include <string>
#include <utility>

#include "compat/by_name.h"
#include "compat/case_file.h"
#include "compat/loader.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::testing;
using compat::Act;
using compat::Loaded;
using compat::LoadedPreset;
using schema::Refuses;

namespace {

/// The oldest release of a device, and what it makes of bodies.
struct Oldest {
    explicit Oldest(schema::Device made)
        : device(std::make_unique<schema::Device>(std::move(made))), release(*device, *device->releases[0].schema) {}
    explicit Oldest(const std::string& text) : Oldest(case_from(text, "load_kept_test").device) {}

    [[nodiscard]] LoadedPreset load(const Bytes& body, bool as_it_stands = false,
                                    const compat::HeldValues& held = {}) const {
        compat::Image image;
        image.body = body;
        image.settings = settings;
        image.stamp_release = 0;
        image.as_it_stands = as_it_stands;
        return compat::load(release, image, {}, held);
    }
    [[nodiscard]] LoadedPreset load_text(const std::string& text, bool as_it_stands = false) const {
        return load(Bytes(text.begin(), text.end()), as_it_stands);
    }
    [[nodiscard]] std::size_t at(const std::string& id) const {
        for (std::size_t i = 0; i < release.fields().size(); ++i) {
            if (release.fields()[i].field->id == id) return i;
        }
        FAIL(id);
        return 0;
    }
    [[nodiscard]] const Loaded& of(const LoadedPreset& preset, const std::string& id) const {
        REQUIRE_FALSE(preset.refused);
        return preset.fields[at(id)];
    }

    std::unique_ptr<schema::Device> device;
    compat::CompiledRelease release;
    Bytes settings;
};

std::string bytes_device(const std::string& rules, const std::string& members) {
    return "== rules\n" + rules + "\n== release 1.0\n" + members + "\n";
}

std::string records_device(const std::string& rules, const std::string& members) {
    return R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "records": { "head": ["id", "version", "length"] } } } },
  "rules": { )" +
           rules + " } }\n== release 1.0\n\"stamp\": 1,\n" + members + "\n";
}

/// The settings of a unit beside presets of two bytes.
const std::string with_settings = R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
                           "body": { "size": 2 } },
               "settings": { "holds": "unit-settings", "messages": { "settings": { "bytes": "F0 7D 08 {data...} F7" } },
                             "preset": ["settings"], "body": { "size": 2 } } },
  "rules": { "longer-image": "ignore", "shorter-image": "held" } }
== release 1.0
"stamp": 1,
"parameters": { "bypass": { "at": 0, "kind": "switch", "scope": "unit" }, "level": { "at": 1, "scope": "unit", "default": 7 },
                "drive": { "at": 0, "when": { "parameter": "bypass", "is": false } } }
)";

}  // namespace

TEST_CASE("load: what a release wrote itself is neither repaired nor refused, and its gaps are at their defaults") {
    const Oldest unit(bytes_device(R"("shorter-image": "refuse", "longer-image": "refuse")", R"("parameters": {
        "drive": { "at": 0, "range": [0, 50] }, "gain": { "at": 8, "default": 7 } },
        "accepts": [ { "bytes": { "at": 1, "are": "01" }, "refuses": "preset" } ],
        "repairs": [ { "if": { "at": 0, "bytes": "3C" }, "read-as": "05", "why": "older units wrote it so" } ])"));
    const LoadedPreset shown = unit.load({60, 0}, true);
    CHECK(unit.of(shown, "drive").stored.whole == 60);
    CHECK(unit.of(shown, "gain").act == Act::defaulted);
    CHECK(unit.of(shown, "gain").stored.whole == 7);
    CHECK(shown.repairs.empty());
    CHECK(unit.load(Bytes(16, 0)).refused == Refuses::preset);
    Bytes accepted(16, 1);
    accepted[0] = 60;
    CHECK(unit.of(unit.load(accepted), "drive").stored.whole == 5);
    CHECK(unit.load(accepted).repairs.size() == 1);
}

TEST_CASE("load: records that a release wrote itself are all its own, and what is not there is at its default") {
    const Oldest unit(records_device(R"("unknown-parameter": "refuse", "missing-parameter": "held")",
                                     R"("parameters": { "drive": { "tag": 1 }, "gain": { "tag": 2, "default": 7 } })"));
    const Bytes body{1, 0, 1, 5, 9, 0, 1, 5};  // the drive, and a record that nobody knows
    const LoadedPreset shown = unit.load(body, true);
    CHECK(unit.of(shown, "drive").stored.whole == 5);
    CHECK(unit.of(shown, "gain").act == Act::defaulted);
    CHECK(unit.of(shown, "gain").stored.whole == 7);
    CHECK(shown.skipped_records == 0);
    const LoadedPreset sent = unit.load(body);
    CHECK(sent.refused == Refuses::preset);
    CHECK(sent.refusal == "it holds record 9, which this release does not know");
    CHECK(sent.fields.empty());
    const Oldest versions(records_device(
        R"("missing-parameter": "held")",
        R"("groups": { "echo": { "kind": "block", "tag": 3, "version-at-most": 2, "rules": { "refuses": "dump" } } },
           "parameters": { "echo.mix": { "at": 0 } })"));
    CHECK(versions.load({3, 3, 1, 5}).refused == Refuses::dump);
    CHECK_FALSE(versions.load({3, 2, 1, 5}).refused);
}

TEST_CASE("load: what a unit's settings leave out is at its default, however long the preset is") {
    Oldest unit(with_settings);
    unit.settings = {0};
    for (const std::size_t length : {2U, 3U}) {
        const LoadedPreset preset = unit.load(Bytes(length, 5));
        CHECK(unit.of(preset, "level").act == Act::defaulted);
        CHECK(unit.of(preset, "level").stored.whole == 7);
        CHECK(unit.of(preset, "drive").exists);
    }
    // Without any settings both may be: it is asked, and taken as there.
    unit.settings.clear();
    const LoadedPreset preset = unit.load({5, 5});
    CHECK(preset.asked_facts == std::vector<std::string>{"unit bypass Off"});
    CHECK(unit.of(preset, "drive").exists);
}

TEST_CASE("load: what a unit held is put only where something is left as it was") {
    const Oldest unit(records_device(
        R"("missing-parameter": "held")",
        R"("parameters": { "on": { "tag": 1 }, "drive": { "tag": 2 }, "gain": { "tag": 3, "when": { "parameter": "on", "is": 1 } } })"));
    dump::Stored nine;
    nine.kind = dump::Stored::Kind::whole;
    nine.whole = 9;
    const compat::HeldValues held{{0, nine}, {1, nine}, {2, nine}};
    const LoadedPreset preset = unit.load({1, 0, 1, 0}, false, held);
    CHECK(unit.of(preset, "on").stored.whole == 0);
    CHECK_FALSE(unit.of(preset, "on").assumed);
    CHECK(unit.of(preset, "drive").stored.whole == 9);
    CHECK(unit.of(preset, "drive").value == 9);
    CHECK(unit.of(preset, "drive").assumed);
    CHECK_FALSE(unit.of(preset, "gain").exists);
    CHECK(unit.of(preset, "gain").stored.whole == 0);
    CHECK_FALSE(unit.of(preset, "gain").assumed);
    CHECK_FALSE(preset.any_unknown);
    CHECK(unit.load({1, 0, 1, 1, 2, 0, 1, 5}).any_unknown);
}

TEST_CASE("load: a block is refused with all blocks around it and all that lies in it, and nothing beside it") {
    const Oldest unit(bytes_device(R"("out-of-range": "refuse")", R"("groups": {
        "rack": { "at": 0 }, "rack.amp": { "kind": "block", "at": 1 }, "rack.amp.tap": { "at": 1 }, "echo": { "kind": "block", "at": 4 } },
        "parameters": { "alone": { "at": 10, "range": [0, 9], "rules": { "refuses": "block" } }, "rack.level": { "at": 0 },
        "rack.amp.air": { "at": 0 }, "rack.amp.tap.depth": { "at": 0, "range": [0, 9], "rules": { "refuses": "block" } },
        "echo.mix": { "at": 0 } })"));
    const auto refused = [&](const Bytes& body) {
        const LoadedPreset preset = unit.load(body);
        std::string text;
        for (std::size_t i = 0; i < preset.fields.size(); ++i) {
            if (preset.fields[i].act == Act::refused) text += unit.release.fields()[i].field->id + " ";
        }
        return text;
    };
    CHECK(refused(Bytes(16, 5)).empty());
    CHECK(refused({0, 0, 20, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}) == "rack.amp.air rack.amp.tap.depth ");
    // What lies in no block is refused alone.
    CHECK(refused({0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 20, 0, 0, 0, 0, 0}) == "alone ");
    const Oldest first(bytes_device(R"("out-of-range": "refuse")", R"("groups": { "amp": { "kind": "block", "at": 0 } },
        "parameters": { "amp.air": { "at": 0 }, "amp.gain": { "at": 1, "range": [0, 9], "rules": { "refuses": "block" } } })"));
    CHECK(first.load({0, 20, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}).fields[0].act == Act::refused);
}

TEST_CASE("load: by name, a text is cut between characters, down to nothing") {
    const auto label = [](const std::string& rules, const std::string& length, const std::string& text) {
        const Oldest unit(redstart("json", rules,
                                   R"("parameters": { "label": { "path": "/label", "kind": "text", "length": )" +
                                       length + R"(, "encoding": "utf-8" } })",
                                   R"("extends": "1.0")"));
        return unit.load_text("{\"label\": \"" + text + "\"}");
    };
    const std::string cut = R"("long-text": "cut")";
    const LoadedPreset three = label(cut, "1", "abc");
    CHECK(three.fields[0].stored.text == "a");
    CHECK(three.fields[0].act == Act::cut);
    CHECK(three.fields[0].value == 0);
    CHECK(label(cut, "3", "abc").fields[0].act == Act::nothing);
    CHECK(label(cut, "1", "\xC3\xA9").fields[0].stored.text.empty());
    CHECK(label(cut, "2", "a\xC3\xA9").fields[0].stored.text == "a");
    CHECK(label(R"("long-text": "refuse")", "2", "abc").refused == Refuses::preset);
}

TEST_CASE("load: what stands on a step, as near as its coding comes, asks no rule") {
    const Oldest unit(bytes_device("", R"("parameters": {
        "fine": { "at": 0, "range": [0, 10], "step": 0.3 },
        "real": { "at": 1, "as": "float64", "range": [0, 1], "step": 0.1 },
        "mode": { "at": 9, "choices": { "Room": 3, "Hall": 5 } } })"));
    // The step nearest to 5 is 5.1, which is stored as 5 too; 3 * 0.1 is a little more than 0.3 in the arithmetic of
    // doubles.
    const LoadedPreset preset = unit.load(from_hex("05 3F D3 33 33 33 33 33 33 05 00 00 00 00 00 00"));
    CHECK(unit.of(preset, "fine").value == 5);
    CHECK(unit.of(preset, "real").stored.real == 0.3);
    CHECK(unit.of(preset, "mode").value == 5);
    CHECK(preset.asked.none());
    CHECK(unit.load(from_hex("05 3F D0 00 00 00 00 00 00 05 00 00 00 00 00 00")).asked.any());  // 0.25
}

TEST_CASE("load: of bodies of two sizes a release takes as much as it stores in that way") {
    const Oldest unit(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "short": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
                          "body": { "size": 4 } },
               "long": { "messages": { "preset": { "bytes": "F0 7D 0A {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
                         "body": { "size": 16 } } },
  "rules": { "longer-image": "ignore" } }
== release 1.0
"stamp": 1, "parameters": { "drive": { "at": 0 }, "gain": { "at": 8, "default": 7 } }
)");
    const LoadedPreset preset = unit.load(Bytes(16, 5));
    CHECK(unit.of(preset, "drive").stored.whole == 5);
    CHECK(unit.of(preset, "gain").stored.whole == 7);
}

TEST_CASE("load: bytes of which nobody knows the meaning are no number, whatever their scale") {
    const Oldest unit(bytes_device("", R"("parameters": {
        "blob": { "at": 0, "as": "text", "length": 2, "kind": "opaque", "scale": { "stored": [0, 10], "value": [5, 15] } } })"));
    CHECK(unit.of(unit.load(Bytes(16, 1)), "blob").value == 0);
    CHECK(unit.of(unit.load(Bytes(16, 1)), "blob").stored.text == "\x01\x01");
}

TEST_CASE("load: a list without choices has none to put in place of a number") {
    for (const char* action : {"clamp", "reset", "first", "keep"}) {
        const Oldest unit(bytes_device(R"("unknown-choice": ")" + std::string(action) + '"',
                                       R"("parameters": { "mode": { "at": 0, "choices": [] } })"));
        const LoadedPreset preset = unit.load(Bytes(16, 9));
        CHECK(unit.of(preset, "mode").stored.whole == 9);
        CHECK_FALSE(unit.of(preset, "mode").known);
    }
}

TEST_CASE("load: of a range that the scale cannot reach no stored number is inside, and the nearer end holds it") {
    // 2 - 2 * 0.5^(stored / 10), below 2 for any number; and its mirror image. At -3 (at 3) that is stored -13.
    const auto parameter = [](const std::string& place, const std::string& most, const std::string& range) {
        return "{ " + place + R"(, "scale": { "stored": [0, 10], "value": [0, )" + most +
               R"(], "taper": "audio", "curve": 0.5 }, "range": )" + range + " }";
    };
    const Oldest unit(
        bytes_device(R"("out-of-range": "clamp")",
                     "\"parameters\": { \"low\": " + parameter(R"("at": 0, "as": "int8")", "1", "[-3, 5]") +
                         ", \"high\": " + parameter(R"("at": 1, "as": "int8")", "-1", "[-5, 3]") +
                         ", \"near\": " + parameter(R"("at": 2, "as": "int8")", "-1", "[-2, 3]") +
                         ", \"real\": " + parameter(R"("at": 3, "as": "float64")", "1", "[-3, 5]") + " }"));
    const auto held_at = [&](const std::string& id, std::uint8_t number) {
        Bytes body(16, 0);
        body[unit.at(id)] = number;
        const LoadedPreset preset = unit.load(body);
        CHECK(unit.of(preset, id).act == Act::clamped);
        return unit.of(preset, id).stored.whole;
    };
    CHECK(held_at("low", 5) == -13);      // 0.59: 3.59 from the one end, 4.41 from the other
    CHECK(held_at("low", 0xEC) == -13);   // -20 is -6
    CHECK(held_at("high", 5) == -13);     // -0.59: 4.41 and 3.59
    CHECK(held_at("high", 10) == -13);    // -1: midway
    CHECK(held_at("high", 0xF6) == -13);  // -10 is 2
    CHECK(held_at("high", 0xEC) == -13);  // -20 is 6
    CHECK(held_at("near", 0xFB) == -13);  // -5 is 0.83: 2.83 and 2.17
    // A real number is judged by its value.
    const LoadedPreset preset = unit.load(from_hex("00 00 00 40 14 00 00 00 00 00 00 00 00 00 00 00"));
    CHECK(unit.of(preset, "real").act == Act::nothing);
    CHECK(unit.of(preset, "real").stored.real == 5);
}
