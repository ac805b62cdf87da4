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

constexpr const char* first = R"("stamp": 1,
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
    auto files = wren({{"1.0", tagged ? first_tagged : first}, {"1.1", stamp + R"("extends": "1.0")" + second}});
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

TEST_CASE("each kind of change", "[changes]") {
    std::set<ChangeKind> met;
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
