// A release made ready for loading: what is asked first, what hangs on what, ranges as stored numbers.
#include "compat/compiled.h"

#include <algorithm>
#include <string>

#include "base/text.h"
#include "compat/case_file.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::testing;
using compat::BoundField;
using compat::BoundMeaning;
using compat::CompiledRelease;

namespace {

CaseFile made(const std::string& members) {
    return case_from("== release 1.0\n" + members, "compiled_test");
}

std::string ids(const CompiledRelease& release, const std::vector<int>& fields) {
    std::string text;
    for (const int field : fields) {
        text += (text.empty() ? "" : " ") + release.fields()[static_cast<std::size_t>(field)].field->id;
    }
    return text;
}

const BoundField& field_of(const CompiledRelease& release, const std::string& id) {
    const auto found = std::find_if(release.fields().begin(), release.fields().end(),
                                    [&](const BoundField& field) { return field.field->id == id; });
    REQUIRE(found != release.fields().end());
    return *found;
}

/// Least and most as values and as stored numbers, what plays, and the span.
std::string range_text(const BoundMeaning& meaning) {
    const auto pair = [](double a, double b) { return number_text(a) + ".." + number_text(b); };
    return pair(meaning.least, meaning.most) + " stored " + pair(meaning.stored_low, meaning.stored_high) + " plays " +
           pair(meaning.plays_least, meaning.plays_most) + " span " + number_text(meaning.span) +
           (meaning.bounded ? " bounded" : "");
}

}  // namespace

TEST_CASE("compiled: every field comes once, behind all that its conditions ask") {
    const CaseFile file = made(R"("parameters": {
        "a": { "at": 0, "when": { "parameter": "b", "is": 1 } },
        "b": { "at": 1, "when": { "not": { "parameter": "c", "is": 1 } } },
        "d": { "at": 2, "when": { "all": [ { "parameter": "a", "is": 1 }, { "parameter": "c", "is": 1 }, { "parameter": "a", "below": 9 } ] } },
        "e": { "at": 3, "range": [0, 9], "varies": [ { "when": { "parameter": "d", "is": 1 }, "range": [0, 5] } ] },
        "f": { "at": 4, "reads": [ { "when": { "parameter": "e", "is": 1 }, "at": 5 } ] },
        "g": { "at": 6, "when": { "fact": "c", "is": "c" } },
        "h": { "at": 7, "when": { "bytes": { "at": 3, "are": "01" } } },
        "i": { "at": 8, "when": { "stamp": { "is": ["2.0", "3.0"] } } },
        "c": { "at": 9 } })");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    CHECK(ids(release, release.order()) == "c b a d e f g h i");
    const auto asked = [&](const std::string& id) { return ids(release, field_of(release, id).depends_on); };
    CHECK(asked("a") == "b");
    CHECK(asked("b") == "c");
    CHECK(asked("c").empty());
    CHECK(asked("d") == "a c");
    CHECK(asked("e") == "d");
    CHECK(asked("f") == "e");
    CHECK(asked("g").empty());
    const auto condition = [&](const std::string& id) -> const compat::BoundCondition& {
        const std::vector<int>& own = field_of(release, id).conditions;
        REQUIRE(own.size() == 1);
        return release.conditions()[static_cast<std::size_t>(own.front())];
    };
    CHECK(condition("a").field == 1);
    CHECK(condition("a").fact.empty());
    CHECK(condition("a").releases.empty());
    CHECK(condition("a").anchor == -1);
    CHECK(condition("g").field == -1);
    CHECK(condition("g").fact == "c");
    CHECK(condition("g").releases.empty());
    CHECK(condition("i").releases == std::vector<std::size_t>{1, 2});
    CHECK(condition("i").field == -1);
    CHECK(condition("h").at == 3);
}

TEST_CASE("compiled: what bears on a value: blocks that are on by it, or more") {
    const CaseFile file = made(R"("groups": {
        "echo": { "kind": "block", "at": 0, "on-by": "echo.on", "cost": { "by": "echo.model", "costs": { "Tape": 3 } } },
        "amp": { "kind": "block", "at": 2 }, "amp.voice": { "kind": "alternate", "at": 1, "count": 2, "stride": 1, "selected-by": "amp.selected" },
        "scene": { "kind": "scene", "at": 8, "start-by": "first" },
        "pedal": { "kind": "controller", "at": 10, "controls": "pedal.target", "heel": "pedal.heel", "toe": "pedal.toe" } },
        "parameters": {
        "echo.on": { "at": 0, "kind": "switch" }, "echo.model": { "at": 1, "choices": ["Tape", "Digital"] },
        "amp.selected": { "at": 0, "range": [1, 2] }, "amp.voice.drive": { "at": 0 }, "first": { "at": 7 },
        "scene.on": { "at": 0, "kind": "switch", "overrides": "echo.on" },
        "scene.voice": { "at": 1, "range": [1, 2], "overrides": "amp.selected" },
        "pedal.target": { "at": 0, "refers-to": "parameter", "choices": { "first": 1 }, "nothing": 0 },
        "pedal.heel": { "at": 1, "unit": "%" }, "pedal.toe": { "at": 2, "unit": "%" },
        "asked": { "at": 14 }, "asking": { "at": 15, "when": { "parameter": "asked", "is": 1 } } })");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    std::string none, on_off, more;
    for (const BoundField& field : release.fields()) {
        std::string& text = field.bearing == compat::Bearing::nothing  ? none
                            : field.bearing == compat::Bearing::on_off ? on_off
                                                                       : more;
        text += field.field->id + " ";
    }
    CHECK(none == "asking amp.voice[1].drive amp.voice[2].drive ");
    CHECK(on_off == "echo.on scene.on ");
    CHECK(more == "first asked echo.model amp.selected scene.voice pedal.target pedal.heel pedal.toe ");
    CHECK(release.describes_controls());
    std::string switches;
    for (const BoundField& field : release.fields()) {
        if (field.is_switch_of_block) switches += field.field->id + " ";
    }
    CHECK(switches == "echo.on ");
}

TEST_CASE("compiled: ranges as values and as the stored numbers nearest to their ends") {
    const CaseFile file = made(R"("parameters": {
        "byte":   { "at": 0 },
        "signed": { "at": 1, "as": "int8" },
        "fixed":  { "at": 2, "scale": { "stored": [0, 100], "value": [0, 10] }, "range": [0.14, 9.96], "plays": [-1, 12] },
        "falling": { "at": 3, "as": "bits", "bit": 0, "width": 4, "scale": { "stored": [0, 10], "value": [5, -5] } },
        "open":   { "at": 4, "as": "float32" },
        "real":   { "at": 4, "as": "float32", "range": [0.25, 0.75] },
        "pitch":  { "at": 8, "unit": "kHz", "range": [1, 3] },
        "fader":  { "at": 9, "unit": "dB", "scale": { "stored": [0, 100], "value": [0], "taper": "volume" } },
        "label":  { "at": 10, "as": "text", "length": 2 } })");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    const auto range = [&](const std::string& id) { return range_text(field_of(release, id).plain); };
    CHECK(range("byte") == "0..255 stored 0..255 plays 0..255 span 255");
    CHECK(range("signed") == "-128..127 stored -128..127 plays -128..127 span 255");
    CHECK(range("fixed") == "0.14..9.96 stored 1..100 plays -1..12 span 9.82 bounded");
    CHECK(range("falling") == "-10..5 stored 0..15 plays -10..5 span 15");
    CHECK(range("open") == "0..0 stored 0..0 plays 0..0 span 0");
    CHECK(range("real") == "0.25..0.75 stored 0.25..0.75 plays 0.25..0.75 span 0.5 bounded");
    CHECK(range("pitch") == "1..3 stored 1..3 plays 1..3 span 2000 bounded");
    CHECK(range("label") == "0..0 stored 0..0 plays 0..0 span 0");
    // Silence is infinitely low: no share of such a range is known.
    CHECK(field_of(release, "fader").plain.span == 0);
}

TEST_CASE("compiled: neutrals by their kind, a choice by label or number") {
    const CaseFile file = made(R"("parameters": {
        "mode":   { "at": 0, "choices": ["Room", "Hall"], "neutral": "Hall" },
        "other":  { "at": 1, "choices": ["Room", "Hall"], "neutral": 1 },
        "label":  { "at": 2, "as": "text", "length": 2, "neutral": "ab" },
        "on":     { "at": 4, "kind": "switch", "on": 0, "neutral": "on" },
        "drive":  { "at": 5, "neutral": 5 },
        "cabinet": { "at": 6, "refers-to": "parameter", "choices": { "drive": 1, "mode": 2 }, "nothing": 0, "neutral": 0 } })");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    const auto neutral = [&](const std::string& id) {
        const BoundMeaning& meaning = field_of(release, id).plain;
        return (meaning.neutral ? number_text(*meaning.neutral) : "-") + " " +
               (meaning.neutral_meaning.empty() ? "-" : meaning.neutral_meaning) + " " +
               meaning.neutral_text.value_or("-");
    };
    const std::string hall = field_of(release, "mode").parameter->plain.choices->choices[1].meaning;
    CHECK(neutral("mode") == "- " + hall + " -");
    CHECK(neutral("other") == "- " + hall + " -");
    CHECK(neutral("label") == "- - ab");
    CHECK(neutral("on") == "1 - -");
    CHECK(neutral("drive") == "5 - -");
    CHECK(neutral("cabinet") == "- - -");
    CHECK(ids(release, field_of(release, "cabinet").plain.targets) == "drive mode");
    CHECK(field_of(release, "mode").plain.targets.empty());
}

TEST_CASE("compiled: settings as stored numbers, in the coding of the place") {
    const CaseFile file = made(R"("parameters": {
        "mode":   { "at": 0, "choices": { "Room": 3, "Hall": 5 } },
        "label":  { "at": 1, "as": "text", "length": 2 },
        "plain":  { "at": 3, "kind": "switch" },
        "turned": { "at": 4, "kind": "switch", "on": 0 },
        "seven":  { "at": 5, "kind": "switch", "on": 7 },
        "fine":   { "at": 6, "scale": { "stored": [0, 100], "value": [0, 10] } },
        "rate":   { "at": 7, "scale": { "stored": [0, 100], "value": [0.1, 10], "taper": "logarithmic" } },
        "single": { "at": 8, "as": "float32" } })");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    const auto stored = [&](const std::string& id, const schema::Setting& setting) {
        const schema::Parameter& parameter = *field_of(release, id).parameter;
        return compat::stored_of_setting(setting, parameter, parameter.plain);
    };
    using Kind = dump::Stored::Kind;
    const auto whole = [](std::int64_t number) { return dump::Stored{Kind::whole, number, 0, {}}; };
    CHECK(stored("mode", "Hall") == whole(5));
    CHECK(stored("mode", "Plate") == dump::Stored{});
    CHECK(stored("fine", "Hall") == dump::Stored{});
    CHECK(stored("label", "ab") == dump::Stored{Kind::text, 0, 0, "ab"});
    CHECK(stored("plain", 1.0) == whole(1));
    CHECK(stored("plain", 0.0) == whole(0));
    CHECK(stored("turned", 1.0) == whole(0));
    CHECK(stored("turned", 0.0) == whole(1));
    CHECK(stored("seven", 1.0) == whole(7));
    CHECK(stored("seven", 0.0) == whole(0));
    CHECK(stored("fine", 4.56) == whole(46));
    CHECK(stored("rate", -1.0) == dump::Stored{});
    CHECK(stored("single", 0.1) == dump::Stored{Kind::real, 0, static_cast<double>(0.1F), {}});
}

TEST_CASE("compiled: on is any number, off is another, and a real number is stored as finely as its place is") {
    const CaseFile file = made(R"("parameters": {
        "below": { "at": 0, "as": "int8", "kind": "switch", "on": -1 }, "double": { "at": 1, "as": "float64" } })");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    const auto stored = [&](const std::string& id, double setting) {
        const schema::Parameter& parameter = *field_of(release, id).parameter;
        return compat::stored_of_setting(setting, parameter, parameter.plain);
    };
    CHECK(stored("below", 1).whole == -1);
    CHECK(stored("below", 0).whole == 0);
    CHECK(stored("double", 0.1).real == 0.1);
}

TEST_CASE("compiled: an override bears on what the first of all fields bears on") {
    const CaseFile file = made(
        R"("groups": { "echo": { "kind": "block", "at": 0, "on-by": "echo.on" }, "scene": { "kind": "scene", "at": 8 } },
        "parameters": { "echo.on": { "at": 0, "kind": "switch" }, "scene.on": { "at": 0, "kind": "switch", "overrides": "echo.on" } })");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    CHECK(release.fields()[0].field->id == "echo.on");
    CHECK(field_of(release, "scene.on").bearing == compat::Bearing::on_off);
}

TEST_CASE("compiled: the version that a condition asks is that of the nearest record around it") {
    const CaseFile file = case_from(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "records": { "head": ["id", "version", "length"] } } } } }
== release 1.0
"stamp": 1,
"groups": { "rack": {}, "rack.echo": { "tag": 3, "records": { "head": ["id", "version", "length"] } }, "rack.echo.tap": { "tag": 4 } },
"parameters": { "rack.echo.mix": { "tag": 5, "when": { "version": { "at-least": 2 } } },
                "rack.echo.tap.time": { "at": 0, "when": { "version": { "at-least": 2 } } } }
)",
                                    "compiled_test");
    const CompiledRelease release(file.device, *file.device.releases[0].schema);
    const auto asked = [&](const std::string& id) {
        return release.conditions()[static_cast<std::size_t>(field_of(release, id).conditions.back())].anchor;
    };
    CHECK(asked("rack.echo.mix") == release.instances().groups()[1].anchor);
    CHECK(asked("rack.echo.mix") == 0);
    CHECK(asked("rack.echo.tap.time") == release.instances().groups()[2].anchor);
    CHECK(asked("rack.echo.tap.time") > 0);
}
