// Each kind of change, one at a time: what it is called, and what it does to presets back and forward.
#include "study/changes.h"

#include <set>
#include <string>
#include <vector>

#include "schema/siskin.h"
#include "study/change_rows.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using study::Change;
using study::ChangeKind;

constexpr const char* first_fixed = R"("stamp": 1,
  "rules": { "out-of-range": "clamp", "off-step": "round", "unknown-choice": "reset", "long-text": "cut",
             "longer-image": "ignore", "shorter-image": "zero", "newer-stamp": "load", "older-stamp": "refuse" },
  "slots": { "first": 1, "count": 64 }, "budget": 100,
  "assets": { "impulse-response": { "first": 1, "count": 8 } },
  "variants": { "mini": { "limits": { "amp": 2 } } },
  "choice-lists": { "models": ["Brook", "Weir", "Mill", "Ford"] },
  "groups": {
    "amp":   { "kind": "block", "at": 16, "count": 2, "stride": 8, "on-by": "amp.on", "cost": 5 },
    "scene": { "kind": "scene", "at": 32, "count": 2, "stride": 4 },
    "pedal": { "kind": "controller", "at": 44, "controls": "pedal.target" }
  },
  "parameters": {
    "name":      { "at": 0, "as": "text", "length": 8, "role": "name" },
    "volume":    { "at": 8, "unit": "dB", "scale": { "stored": [0, 120], "value": [-60, 0] }, "range": [-60, 0], "default": -6 },
    "tempo":     { "at": 9, "unit": "bpm", "range": [40, 240], "step": 2, "default": 120 },
    "delay":     { "at": 10, "as": "uint16", "unit": "ms", "range": [0, 2000] },
    "feedback":  { "at": 12, "unit": "%", "range": [0, 100], "plays": [0, 110], "rules": { "out-of-range": "keep" } },
    "impulse":   { "at": 13, "refers-to": "impulse-response", "nothing": 255 },
    "curve":     { "at": 14, "list": { "count": 2, "stride": 1 } },
    "amp.on":    { "at": 0, "as": "bits", "bit": 0, "width": 2, "kind": "switch" },
    "amp.model": { "at": 1, "choices": "models", "default": "Brook", "role": "model" },
    "amp.drive": { "at": 2, "range": [0, 100], "neutral": 0, "when": { "parameter": "amp.model", "is": ["Weir", "Mill"] },
                   "varies": [ { "when": { "parameter": "amp.model", "is": "Mill" }, "range": [0, 50] } ] },
    "scene.amp": { "at": 0, "as": "bits", "bit": 0, "width": 2, "kind": "switch", "on": 2, "as-base": 0, "overrides": "amp[1].on" },
    "pedal.target": { "at": 0, "refers-to": "parameter", "nothing": 0, "choices": { "volume": 1, "feedback": 2 } }
  })";

/// One whose bodies are records.
constexpr const char* first_tagged = R"("stamp": 1,
  "rules": { "unknown-parameter": "refuse", "refuses": "preset" },
  "groups": { "reverb": { "kind": "block", "tag": 4, "version-at-most": 1 } },
  "parameters": { "gain": { "tag": 7, "default": 5 }, "reverb.size": { "at": 0 } })";

schema::Device with_second(bool tagged, const std::string& second) {
    const std::string stamp = second.find("\"stamp\": 2") == std::string::npos ? R"("stamp": 1, )" : "";
    auto files = wren({{"1.0", tagged ? first_tagged : first_fixed}, {"1.1", stamp + R"("extends": "1.0")" + second}});
    if (tagged)
        files = files_with(files, "device.json", R"("body": { "size": 64 })",
                           R"("body": { "records": { "head": ["id", "version", "length"] } })");
    return must_load(files);
}

std::string way_text(const study::Way& way) {
    return std::string(effect_name(way.effect)) + (way.words.empty() ? "" : " (" + way.words + ')');
}

/// "range tempo: 40..240 bpm -> 40..300 bpm | back … | forward …", one in each line.
std::string lines_of(const std::vector<Change>& changes) {
    std::string lines;
    for (const Change& change : changes) {
        lines += std::string(row_of(change.kind).name) + ' ' + change.subject;
        if (!change.where.empty()) lines += ' ' + change.where;
        lines += ": " + change.before + " -> " + change.after;
        for (const std::string& one : change.holds) lines += " +" + one;
        if (!change.suggestion.empty()) lines += " ? " + change.suggestion;
        lines += " | back " + way_text(change.back) + " | forward " + way_text(change.forward) + '\n';
    }
    return lines;
}

}  // namespace

TEST_CASE("nothing changed", "[changes]") {
    CHECK(lines_of(study::changes_between(with_second(false, ""), 0, 1)) == "");
}

namespace {

/// The Dipper, whose presets stand in JSON, XML and messages, with another 1.1.
schema::Device dipper_with(const std::string& second) {
    auto files = corpus_device("dipper");
    for (schema::SourceFile& file : files) {
        if (file.name.ends_with("1.0.json")) {
            const std::string_view note = R"("note":)";
            file.text.insert(
                file.text.find(note),
                R"x("mode": { "path": "/mode", "as": "text", "choices": ["Room (low)", "Hall", "Plate"] }, )x");
        }
        if (file.name.ends_with("1.1.json"))
            file.text = R"({ "format": "downfit release 1", "device": "dipper", "release": "1.1", "extends": "1.0")" +
                        second + " }";
    }
    return must_load(files);
}

const std::vector<ChangeRow>& named_rows() {
    static const std::vector<ChangeRow> rows{
        {"another path in one layout", false, R"("volume": { "in": { "export": { "path": "/loudness" } } })",
         "place volume in layout export: \"/volume\" -> \"/loudness\" | back reset (it is not there: set to the "
         "default) | "
         "forward reset (it is not there: set to the default)\n"},
        {"another path in all layouts by name", false, R"("curve": { "path": "/points/*" })",
         "place curve: \"/curve/*\" -> \"/points/*\" | back reset (it is not there: set to the default) | forward "
         "reset (it is "
         "not there: set to the default)\n"},
        {"a path of another parameter", false,
         R"("note": null, "mark": { "path": "/note", "as": "text" }, "curve": {})",
         "parameter-added mark:  -> \"/note\" | back lost (it has nowhere to go) | forward displaced (read from "
         "where note "
         "is stored)\n"
         "parameter-removed note: \"/note\" ->  | back displaced (read from where mark is stored) | forward "
         "lost (it has "
         "nowhere to go)\n"},
        {"the same place and shape under another name", false,
         R"("note": null, "mark": { "path": "/note", "as": "text", "length": 24, "encoding": "utf-8" }, "other": { "path": "/other", "as": "text", "length": 24 })",
         "parameter-added mark:  -> \"/note\" ? perhaps the new name of note: it stands in the same place and has the "
         "same shape; "
         "\"renamed-from\" says so; as long as nobody says so, one is gone and the other new | back lost (it has "
         "nowhere to go) | "
         "forward displaced (read from where note is stored)\n"
         "parameter-added other:  -> \"/other\" | back lost (it has nowhere to go) | forward added (new there)\n"
         "parameter-removed note: \"/note\" ->  ? perhaps mark is its new name: it stands in the same place and has "
         "the same shape; "
         "\"renamed-from\" says so; as long as nobody says so, one is gone and the other new | back displaced (read "
         "from where mark "
         "is stored) | forward lost (it has nowhere to go)\n"},
        {"choices that are found by their text", false,
         R"x("mode": { "choices": { "rename": { "Hall": "Cave" }, "close": ["Room (low)"], "insert": { "Spring (low)": 0 } } })x",
         "written mode: \"Hall\" -> \"Cave\" +Cave | back unsure (a text that is not known there: nobody states what "
         "becomes of it "
         "(unknown-choice)) | forward unsure (a text that is not known there: nobody states what becomes of it "
         "(unknown-choice))\n"
         "choice-added mode:  -> Spring (low) +Spring (low) | back unsure (Spring (low): nobody states what becomes of "
         "it "
         "(unknown-choice)) | forward nothing (found by its text)\n"
         "choice-removed mode: Room (low) ->  +Room (low) | back nothing (no preset of the newer release has it) | "
         "forward unsure "
         "(Room (low): nobody states what becomes of it (unknown-choice))\n"
         "choice-renamed mode: Hall -> Cave | back nothing (another name for the same thing) | forward nothing "
         "(another name for the "
         "same thing)\n"},
        {"no longer stored in one layout", false, R"("volume": { "in": { "export": { "path": null } } })",
         "place volume in layout export: \"/volume\" -> nowhere | back added (it is not stored where it comes "
         "from) | "
         "forward lost (it is not stored there)\n"},
        {"another text for a label", false,
         R"("amp.model": { "in": { "export": { "written": { "Weir": "weir_2", "Mill": "mill" } } } })",
         "written amp.model in layout export: \"weir_1\", \"Mill\" -> \"weir_2\", \"mill\" +Weir +Mill | back unsure "
         "(a text "
         "that is not known there: nobody states what becomes of it (unknown-choice)) | forward unsure (a text that is "
         "not known "
         "there: nobody states what becomes of it (unknown-choice))\n"},
        {"the text of another label", false,
         R"("amp.model": { "in": { "export": { "written": { "Brook": "weir_1", "Weir": "brook_1" } } } })",
         "written amp.model in layout export: \"brook_1\", \"weir_1\" -> \"weir_1\", \"brook_1\" +Brook +Weir | back "
         "swapped "
         "(\"weir_1\" stands for Weir there) | forward swapped (\"brook_1\" stands for Weir there)\n"},
        {"a switch in other words", false, R"("amp.on": { "in": { "export": { "written": { "on": "on" } } } })",
         "written amp.on in layout export: \"engaged\" -> \"on\" +on | back unsure (a text that is not known there: "
         "nobody states "
         "what becomes of it (unknown-choice)) | forward unsure (a text that is not known there: nobody states what "
         "becomes of it "
         "(unknown-choice))\n"},
        {"kept less exactly", false, R"("amp.drive": { "in": { "library": { "as": "float32" } } })",
         "width amp.drive in layout library: a number -> a number of 32 bits | back nothing (kept at least as exactly) "
         "| forward "
         "rounded (kept no more exactly than that)\n"},
        {"a shorter text", false, R"("note": { "length": 20 })",
         "width note: text of at most 24 bytes -> text of at most 20 bytes | back nothing (texts as long as before, or "
         "longer) | "
         "forward unsure (longer texts: nobody states what becomes of them (long-text))\n"},
        {"another place in the messages", false, R"("scene.amp-on": { "in": { "bank": { "at": 1, "as-base": 254 } } })",
         "place scene.amp-on in layout bank: byte 0 -> byte 1 | back displaced (read from bytes that mean nothing) | "
         "forward "
         "displaced (read from bytes that mean nothing)\n"
         "code scene.amp-on in layout bank: as-base: 255 -> as-base: 254 | back swapped (the same number means "
         "something else) | "
         "forward swapped (the same number means something else)\n"},
    };
    return rows;
}

}  // namespace

TEST_CASE("what changes in single layouts, and by name", "[changes]") {
    CHECK(lines_of(study::changes_between(dipper_with(""), 0, 1)) ==
          lines_of(study::changes_between(dipper_with(R"(, "parameters": {})"), 0, 1)));
    const std::string stamp = lines_of(study::changes_between(dipper_with(""), 0, 1));
    for (const ChangeRow& row : named_rows()) {
        CAPTURE(row.name);
        const auto changes = study::changes_between(dipper_with(R"(, "parameters": { )" + row.second + " }"), 0, 1);
        CHECK(lines_of(changes) == row.lines + stamp);
    }
    const auto groups = study::changes_between(
        dipper_with(
            R"(, "groups": { "amp": { "in": { "export": { "keys": ["A", "C"] } } }, "scene": { "path": "/sets/*" } })"),
        0, 1);
    CHECK(lines_of(groups) ==
          "group-place scene: \"/scenes/*\" -> \"/sets/*\" | back lost (what is not found there does not exist) | "
          "forward lost "
          "(what is not found there does not exist)\n"
          "group-place amp in layout export: \"/amps/*\" by key: A, B, version at \"/version\" -> \"/amps/*\" by key: "
          "A, C, "
          "version at \"/version\" | back lost (what is not found there does not exist) | forward lost (what is not "
          "found there "
          "does not exist)\n" +
              stamp);
}

TEST_CASE("each kind of change", "[changes]") {
    std::set<ChangeKind> met;
    for (const ChangeRow& row : named_rows()) {
        for (const Change& change :
             study::changes_between(dipper_with(R"(, "parameters": { )" + row.second + " }"), 0, 1))
            met.insert(change.kind);
    }
    for (const ChangeRow& row : change_rows()) {
        CAPTURE(row.name);
        const auto changes = study::changes_between(with_second(row.tagged, row.second), 0, 1);
        CHECK(lines_of(changes) == row.lines);
        for (const Change& change : changes) met.insert(change.kind);
    }
    for (std::size_t i = 0; i < study::kind_count; ++i) {
        const auto kind = static_cast<ChangeKind>(i);
        CAPTURE(row_of(kind).name);
        CHECK(met.contains(kind));
    }
}

}  // namespace downfit::testing
