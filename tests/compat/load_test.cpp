// What a release has after loading, number for number: every expectation worked out by hand from docs/formats.md.
#include <cmath>
#include <memory>
#include <string>

#include "base/text.h"
#include "compat/case_file.h"
#include "compat/loader.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::testing;
using compat::Act;
using compat::Loaded;
using schema::Refuses;
using schema::Rule;

namespace {

std::string act_name(Act act) {
    switch (act) {
        case Act::nothing: return "as read";
        case Act::clamped: return "clamped";
        case Act::reset: return "reset";
        case Act::wrapped: return "wrapped";
        case Act::kept_out: return "kept out";
        case Act::rounded: return "rounded";
        case Act::defaulted: return "default";
        case Act::held: return "held";
        case Act::cut: return "cut";
        case Act::refused: break;
    }
    return "refused";
}

std::string stored_text(const dump::Stored& stored) {
    switch (stored.kind) {
        case dump::Stored::Kind::none: return "nothing";
        case dump::Stored::Kind::text: return '"' + stored.text + '"';
        case dump::Stored::Kind::real:
            return "real " + number_text(stored.real) + (stored.whole == 0 ? "" : " and a whole number");
        case dump::Stored::Kind::whole: break;
    }
    return std::to_string(stored.whole) + (stored.real == 0 ? "" : " and a real number");
}

/// One release of the standard device, or of another.
struct Made {
    explicit Made(const std::string& text)
        : file(case_from(text, "load_test")), release(file.device, *file.device.releases[0].schema) {}

    [[nodiscard]] compat::LoadedPreset load(const Bytes& body, const compat::Assumptions& assumptions = {}) const {
        compat::Image image;
        image.body = body;
        image.stamp_release = stamp;
        image.slot = slot;
        return compat::load(release, image, assumptions);
    }
    /// "ID ACT STORED" of each field that exists; "(not there)" behind those that do not.
    [[nodiscard]] std::string told(const Bytes& body) const {
        const compat::LoadedPreset preset = load(body);
        if (preset.refused) return "refused: " + preset.refusal + "\n";
        std::string text;
        for (std::size_t i = 0; i < preset.fields.size(); ++i) {
            const Loaded& loaded = preset.fields[i];
            text += release.fields()[i].field->id + " " + act_name(loaded.act) + " " + stored_text(loaded.stored);
            text += loaded.exists ? "\n" : " (not there)\n";
        }
        return text;
    }

    CaseFile file;
    compat::CompiledRelease release;
    std::size_t stamp = 0;
    int slot = -1;
};

std::string rules(const std::string& stated) {
    return "== rules\n" + stated + "\n";
}

std::string release(const std::string& members) {
    return "== release 1.0\n" + members + "\n";
}

}  // namespace

TEST_CASE("load: what lies beyond the end of a body, in the coding of each kind") {
    const std::string parameters = release(R"("parameters": {
        "first": { "at": 0 },
        "label": { "at": 1, "as": "text", "length": 2 },
        "gain":  { "at": 3, "as": "float32" },
        "width": { "at": 7, "as": "float64" },
        "shift": { "at": 15, "as": "bits", "bit": 0, "width": 4, "signed": "offset", "range": [-8, 7] } })");
    const auto rest = [](const std::string& act) {
        return "first as read 5\nlabel " + act + " \"\"\ngain " + act + " real 0\nwidth " + act + " real 0\nshift " +
               act + " -8\n";
    };
    CHECK(Made(rules(R"("shorter-image": "held")") + parameters).told({5}) == rest("held"));
    CHECK(Made(rules(R"("shorter-image": "zero")") + parameters).told({5}) == rest("as read"));
    CHECK(Made(rules(R"("shorter-image": "default")") + parameters).told({5}) == rest("default"));
    for (const char* one : {"float32", "float64"}) {
        const Made refusing(release(R"("parameters": { "first": { "at": 0 }, "gain": { "at": 8, "as": ")" +
                                    std::string(one) +
                                    R"(", "rules": { "shorter-image": "refuse", "refuses": "parameter" } } })"));
        CHECK(refusing.told({5}) == "first as read 5\ngain refused real 0\n");
        CHECK(refusing.load({5}).fields[1].read == refusing.load({5}).fields[1].stored);
    }
}

TEST_CASE("load: a refusal takes the preset where nobody says what it takes, and leaves nothing") {
    const auto refused = [](const Made& made, const Bytes& body) {
        const compat::LoadedPreset preset = made.load(body);
        CHECK(preset.fields.empty());
        CHECK(preset.asked.none());
        return preset.refused;
    };
    const std::string drive = release(R"("parameters": { "drive": { "at": 4, "range": [0, 9] } })");
    const Bytes whole(16, 0);
    Bytes beyond = whole;
    beyond[4] = 10;
    CHECK(refused(Made(rules(R"("out-of-range": "refuse")") + drive), beyond) == Refuses::preset);
    CHECK(refused(Made(rules(R"("out-of-range": "refuse", "refuses": "dump")") + drive), beyond) == Refuses::dump);
    CHECK(refused(Made(rules(R"("longer-image": "refuse")") + drive), Bytes(17, 0)) == Refuses::preset);
    CHECK(refused(Made(rules(R"("shorter-image": "refuse")") + drive), {1}) == Refuses::preset);
    CHECK(refused(Made(rules(R"("longer-image": "refuse", "refuses": "dump")") + drive), Bytes(17, 0)) ==
          Refuses::dump);
    Made newer(rules(R"("newer-stamp": "refuse")") + drive);
    newer.stamp = 1;
    CHECK(refused(newer, Bytes(17, 0)) == Refuses::preset);
    CHECK(newer.load(whole).refusal == "it was saved on a newer release");
    Made stamped(drive.substr(0, drive.size() - 1) + R"(, "accepts": [ { "stamp": { "at-most": "1.0" } } ])");
    stamped.stamp = 2;
    CHECK(stamped.load(whole).refusal == "this release does not take presets with that stamp");
    const Made cut_off(release(
        R"("parameters": { "first": { "at": 0 }, "gain": { "at": 8, "rules": { "shorter-image": "refuse" } } })"));
    CHECK(refused(cut_off, {5}) == Refuses::preset);
    const Made text(rules(R"("long-text": "refuse")") +
                    release(R"("parameters": { "label": { "at": 0, "as": "text", "length": 4 } })"));
    CHECK(refused(text, {'a', 0x80, ' ', ' ', 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}) == Refuses::preset);
}

TEST_CASE("load: the slot that a release takes is the one shown, nought among them") {
    Made made(release(
        R"("parameters": { "drive": { "at": 4 } }, "accepts": [ { "slot": { "at-least": 1 }, "refuses": "preset" } ])"));
    const Bytes body(16, 0);
    made.slot = 0;
    CHECK(made.load(body).refused == Refuses::preset);
    made.slot = 1;
    CHECK_FALSE(made.load(body).refused);
    made.slot = -1;  // not known: nothing to refuse it for
    CHECK_FALSE(made.load(body).refused);
    Made listed(release(
        R"("parameters": { "drive": { "at": 4 } }, "accepts": [ { "slot": { "is": [3, 5] }, "refuses": "preset" } ])"));
    listed.slot = 5;
    CHECK_FALSE(listed.load(body).refused);
    listed.slot = 4;
    CHECK(listed.load(body).refused == Refuses::preset);
}

TEST_CASE("load: numbers beyond a range wrap by the numbers in it, and are reset to the least without a default") {
    const std::string parameters = release(R"("parameters": {
        "unit":  { "at": 0, "as": "float32", "range": [0, 1] },
        "point": { "at": 4, "as": "float32", "range": [5, 5] },
        "steps": { "at": 8, "range": [2, 5] } })");
    const Bytes body = from_hex("3F A0 00 00  40 E0 00 00  07  00 00 00 00 00 00 00");  // 1.25, 7, 7
    CHECK(Made(rules(R"("out-of-range": "wrap")") + parameters).told(body) ==
          "unit wrapped real 0.25\npoint wrapped real 5\nsteps wrapped 3\n");
    CHECK(Made(rules(R"("out-of-range": "reset")") + parameters).told(body) ==
          "unit reset real 0\npoint reset real 5\nsteps reset 2\n");
    CHECK(Made(rules(R"("out-of-range": "clamp")") + parameters).told(body) ==
          "unit clamped real 1\npoint clamped real 5\nsteps clamped 5\n");
}

TEST_CASE(
    "load: a tolerance widens either end, of real and of whole numbers; what the engine plays includes its ends") {
    const Made made(rules(R"("out-of-range": "keep", "tolerance": 0.5)") + release(R"("parameters": {
        "gain":  { "at": 0, "as": "float32", "range": [1, 2] },
        "level": { "at": 4, "scale": { "stored": [0, 100], "value": [0, 10] }, "range": [1, 2] },
        "depth": { "at": 5, "as": "int8", "range": [0, 50], "plays": [-10, 60] } })"));
    const auto told = [&](const std::string& hex) {
        return made.told(from_hex(hex + " 00 00 00 00 00 00 00 00 00 00"));
    };
    CHECK(told("3F 00 00 00 05 F6") == "gain as read real 0.5\nlevel as read 5\ndepth as read -10\n");
    CHECK(told("3E C0 00 00 04 F5") == "gain kept out real 0.375\nlevel kept out 4\ndepth kept out -11\n");
    CHECK(told("40 20 00 00 19 3C") == "gain as read real 2.5\nlevel as read 25\ndepth as read 60\n");
    CHECK(told("40 28 00 00 1A 3D") == "gain kept out real 2.625\nlevel kept out 26\ndepth kept out 61\n");
}

TEST_CASE("load: the grid begins at the least, and ends before the most; numbers kept beyond it keep their own") {
    const Made made(rules(R"("out-of-range": "keep", "off-step": "round")") + release(R"("parameters": {
        "near":  { "at": 0, "range": [1, 10], "plays": [0, 40], "step": 4 },
        "coarse": { "at": 1, "scale": { "stored": [0, 100], "value": [0, 10] }, "kind": "whole" },
        "real":  { "at": 2, "as": "float32", "range": [-4, 8], "step": 1.5 },
        "free":  { "at": 6, "as": "float32", "step": 2 } })"));
    const auto told = [&](const std::string& hex) { return made.told(from_hex(hex + " 00 00 00 00 00 00")); };
    // 9 is the last: 1, 5, 9. Half a unit is a stored number of its own where no step is stated.
    CHECK(told("0A 05 C0 80 00 00 C0 A0 00 00") ==
          "near rounded 9\ncoarse as read 5\nreal as read real -4\nfree rounded real -6\n");
    CHECK(told("0D 05 40 C0 00 00 40 80 00 00") ==
          "near as read 13\ncoarse as read 5\nreal rounded real 6.5\nfree as read real 4\n");
    CHECK(told("04 05 FF C0 00 00 7F 80 00 00").starts_with("near rounded 5\ncoarse as read 5\n"));
}

TEST_CASE("load: no number is on no grid and asks for none") {
    const Made made(rules(R"("out-of-range": "keep")") +
                    release(R"("parameters": { "free": { "at": 0, "as": "float32", "step": 2 } })"));
    CHECK(made.load(from_hex("7F C0 00 00 00 00 00 00 00 00 00 00 00 00 00 00")).asked.none());
    CHECK(made.load(from_hex("7F 80 00 00 00 00 00 00 00 00 00 00 00 00 00 00")).asked.none());
    CHECK(made.load(from_hex("40 40 00 00 00 00 00 00 00 00 00 00 00 00 00 00")).asked.count() == 1);
}

TEST_CASE("load: texts in ASCII show a question mark for each byte beyond it") {
    const std::string parameters = release(R"("parameters": { "label": { "at": 0, "as": "text", "length": 4 } })");
    const auto body = [](const std::string& hex) { return from_hex(hex + " 00 00 00 00 00 00 00 00 00 00 00 00"); };
    const Made cutting(rules(R"("long-text": "cut")") + parameters);
    CHECK(cutting.told(body("61 62 7F 64")) ==
          "label as read \"ab\x7F"
          "d\"\n");
    CHECK(cutting.told(body("61 80 62 63")) == "label cut \"a?bc\"\n");
    CHECK(cutting.told(body("61 FF 62 63")) == "label cut \"a?bc\"\n");
    const Made refusing(rules(R"("long-text": "refuse", "refuses": "parameter")") + parameters);
    CHECK(refusing.told(body("61 80 62 63")) ==
          "label refused \"a\x80"
          "bc\"\n");
}

TEST_CASE("load: choices that a release does not know; what means nothing, or as in the preset, is none of them") {
    const std::string parameters = release(R"("groups": { "scene": { "kind": "scene", "at": 8 } }, "parameters": {
        "mode": { "at": 0, "choices": { "Room": 3, "Hall": 5 } },
        "scene.mode": { "at": 0, "choices": { "Room": 3, "Hall": 5 }, "overrides": "mode", "as-base": 127 },
        "cabinet": { "at": 1, "refers-to": "impulse-response", "range": [2, 8], "nothing": 0 },
        "raw": { "at": 2, "kind": "opaque", "range": [0, 10] } })");
    const auto body = [](const std::string& first, const std::string& scene) {
        return from_hex(first + " 00 00 00 00 00 " + scene + " 00 00 00 00 00 00 00");
    };
    const Made made(rules(R"("unknown-choice": "reset", "out-of-range": "clamp")") + parameters);
    CHECK(made.told(body("04 00 14", "7F")) ==
          "mode reset 3\ncabinet as read 0\nraw as read 20\nscene.mode as read 127\n");
    CHECK(made.told(body("7F 01 05", "06")) == "mode reset 3\ncabinet clamped 2\nraw as read 5\nscene.mode reset 3\n");
    CHECK(made.told(body("05 09 05", "05")) ==
          "mode as read 5\ncabinet clamped 8\nraw as read 5\nscene.mode as read 5\n");
    CHECK(made.load(body("04 00 14", "7F")).fields[3].known);
    CHECK_FALSE(made.load(body("7F 00 14", "7F")).fields[0].known);
    // A number has no choice, whatever stood in its place before.
    Loaded loaded = made.load(body("03 04 05", "05")).fields[1];
    loaded.choice = &made.release.release().find("mode")->plain.choices->choices.front();
    compat::interpret(made.release.fields()[1], loaded);
    CHECK(loaded.choice == nullptr);
    CHECK(loaded.value == 4);
}

TEST_CASE("load: a switch may be overridden as in the preset too, where its scene is the first of all") {
    const Made made(rules(R"("unknown-choice": "reset")") +
                    release(R"("groups": { "scene": { "kind": "scene", "at": 8 } }, "parameters": {
        "mode": { "at": 0, "choices": ["Room", "Hall"] },
        "scene.mode": { "at": 0, "choices": ["Room", "Hall"], "overrides": "mode", "as-base": 9 } })"));
    CHECK(made.told(from_hex("01 00 00 00 00 00 00 00 09 00 00 00 00 00 00 00")) ==
          "mode as read 1\nscene.mode as read 9\n");
}

TEST_CASE("load: no rule is asked for what does not exist, and nothing that was not stored is unknown then") {
    const Made made(release(R"("parameters": {
        "on": { "at": 0, "kind": "switch" },
        "drive": { "at": 1, "range": [0, 9], "when": { "parameter": "on", "is": true } } })"));
    const compat::LoadedPreset off = made.load({0, 99, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0});
    CHECK(off.asked.none());
    CHECK_FALSE(off.fields[1].exists);
    const Made unstated(rules("") +
                        release(R"("parameters": { "drive": { "at": 1, "range": [0, 9], "default": 3 } })"));
    const compat::LoadedPreset asked = unstated.load({0, 99, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0});
    CHECK(asked.asked.count() == 1);
    CHECK(asked.asked.test(static_cast<std::size_t>(Rule::out_of_range)));
    CHECK(asked.fields[0].act == Act::clamped);  // the first possibility stands for all
    CHECK(asked.fields[0].record == -1);
    Made newer(rules("") + release(R"("parameters": { "drive": { "at": 1 } })"));
    newer.stamp = 1;
    CHECK_FALSE(newer.load(Bytes(16, 0)).refused);
    CHECK(newer.load(Bytes(16, 0)).asked.test(static_cast<std::size_t>(Rule::newer_stamp)));
}

TEST_CASE("load: facts that nobody knows hold, and are noted; repairs come before conditions on bytes") {
    const Made made(
        release(R"("repairs": [ { "if": { "at": 2, "bytes": "7F" }, "read-as": "01", "why": "so" } ], "parameters": {
        "old":  { "at": 0, "when": { "fact": "memory", "is": "small" } },
        "new":  { "at": 1, "when": { "not": { "fact": "memory", "is": "small" } } },
        "mended": { "at": 3, "when": { "bytes": { "at": 2, "are": "01" } } } })"));
    const compat::LoadedPreset preset = made.load({0, 0, 0x7F, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0});
    CHECK(preset.fields[0].exists);
    CHECK_FALSE(preset.fields[1].exists);
    CHECK(preset.fields[2].exists);
    CHECK(preset.asked_facts == std::vector<std::string>{"memory", "memory"});
    CHECK(preset.repairs == std::vector<std::string>{"so"});
}

TEST_CASE("load: a condition compares values, not their last digits; an instance that there is not meets none") {
    const Made made(release(
        R"("groups": { "amp": { "at": 4, "count": 3, "stride": 1 }, "old": { "at": 8 }, "old.amp": { "at": 0, "count": 2, "stride": 1 } },
        "parameters": {
        "depth": { "at": 0, "scale": { "stored": [0, 10], "value": [-0.1, 0.9] } },
        "exact": { "at": 1, "when": { "parameter": "depth", "is": 0.3 } },
        "old.amp.on": { "at": 0, "kind": "switch" },
        "amp.tone": { "at": 0, "when": { "parameter": "old.amp.on", "is": true } } })"));
    // -0.1 + 0.4 is a little more than 0.3 in the arithmetic of doubles.
    const compat::LoadedPreset preset = made.load({4, 0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0, 0});
    std::string there;
    for (std::size_t i = 0; i < preset.fields.size(); ++i) {
        if (preset.fields[i].exists) there += made.release.fields()[i].field->id + " ";
    }
    CHECK(there == "depth exact amp[1].tone amp[2].tone old.amp[1].on old.amp[2].on ");
}

TEST_CASE("load: groups counted by the body's length, and lists counted by a parameter, end where that ends") {
    const Made made(
        rules(R"("shorter-image": "default")") +
        release(
            R"("groups": { "tap": { "at": 4, "count": 3, "stride": 4, "count-by": "length" }, "tap.end": { "at": 2 } },
        "parameters": {
        "many": { "at": 0, "range": [0, 3] },
        "curve": { "at": 1, "list": { "count": 3, "count-by": "many" } },
        "tap.level": { "at": 0 }, "tap.end.tone": { "at": 1 } })"));
    const auto there = [&](const Bytes& body) {
        const compat::LoadedPreset preset = made.load(body);
        std::string text;
        for (std::size_t i = 0; i < preset.fields.size(); ++i) {
            if (preset.fields[i].exists) text += made.release.fields()[i].field->id + " ";
        }
        return text;
    };
    CHECK(there(Bytes(16, 1)).find("tap[3].end.tone") != std::string::npos);
    CHECK(there(Bytes(11, 1)).find("tap[2].level") != std::string::npos);
    CHECK(there(Bytes(11, 1)).find("tap[2].end.tone") == std::string::npos);
    CHECK(there(Bytes(11, 1)).find("tap[3]") == std::string::npos);
    const auto lists = [&](std::uint8_t many) {
        Bytes body(16, 1);
        body[0] = many;
        const std::string all = there(body);
        std::string text;
        for (const char* one : {"curve[1]", "curve[2]", "curve[3]"}) {
            if (all.find(one) != std::string::npos) text += std::string(one) + " ";
        }
        return text;
    };
    CHECK(lists(0).empty());
    CHECK(lists(1) == "curve[1] ");
    CHECK(lists(3) == "curve[1] curve[2] curve[3] ");
}
