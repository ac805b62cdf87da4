// What a unit shows after loading, as evidence about rules: worked out by hand from what each possibility would lead
// to.
#include "compat/contradiction.h"

#include <string>
#include <utility>

#include "compat/case_file.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::testing;
using compat::Act;
using compat::LoadingEvidence;
using compat::RuleSeen;
using compat::ValueSeen;
using schema::Action;
using schema::Rule;

namespace {

std::string acted(Act act) {
    switch (act) {
        case Act::nothing: return "";
        case Act::clamped: return ", clamped";
        case Act::reset: return ", reset";
        case Act::rounded: return ", rounded";
        case Act::defaulted: return ", default";
        case Act::held: return ", held";
        case Act::refused: return ", refused";
        default: return ", something else";
    }
}

std::string actions_of(const std::vector<Action>& actions) {
    std::string text;
    for (const Action action : actions) text += " " + std::string(schema::action_name(action));
    return text.empty() ? " none" : text;
}

/// "PARAMETER: PREDICTED -> SHOWN, what was done", where it stands otherwise or follows another; below it each rule
/// that bears on it: what is stated, where, and what fits.
std::string evidence_text(const LoadingEvidence& evidence) {
    std::string text;
    for (const ValueSeen& value : evidence) {
        text += value.parameter.empty() ? "whole preset" : value.parameter;
        if (value.id != value.parameter) text += " of " + value.id;
        text += ": " + value.predicted + " -> " + value.shown + acted(value.act);
        text += std::string(value.as_predicted ? "" : ", otherwise") + (value.follows ? ", follows\n" : "\n");
        for (const RuleSeen& rule : value.rules) {
            text += "  " + std::string(schema::row_of(rule.rule).name) + " ";
            text += rule.stated ? std::string(schema::action_name(*rule.stated)) : "unstated";
            if (rule.of_parameter) text += " of its own";
            if (!rule.place.file.empty()) text += " at " + rule.place.file + rule.place.pointer;
            text += ", fits" + actions_of(rule.fits) + "\n";
        }
    }
    return text;
}

/// A unit on 1.0 that loads bodies of 16 bytes (of those given, the rest are 0).
struct UnitSeen {
    UnitSeen(const std::string& rules, const std::string& members)
        : file(case_from("== rules\n" + rules + "\n== release 1.0\n" + members + "\n", "contradiction_test")),
          release(file.device, *file.device.releases[0].schema) {}

    [[nodiscard]] static Bytes whole(const std::string& hex) {
        Bytes body = from_hex(hex);
        body.resize(16);
        return body;
    }
    [[nodiscard]] compat::Image image(const Bytes& body, bool shown) const {
        compat::Image image;
        image.body = body;
        image.stamp_release = stamp;
        image.settings = settings;
        image.as_it_stands = shown;
        return image;
    }
    [[nodiscard]] std::string told_of(const Bytes& sent, const Bytes& shown) const {
        return evidence_text(compat::evidence_of(release, image(sent, false), release, image(shown, true), {}));
    }
    [[nodiscard]] std::string told(const std::string& sent, const std::string& shown) const {
        return told_of(whole(sent), whole(shown));
    }
    [[nodiscard]] std::string told_of_nothing(const std::string& sent) const {
        const Bytes body = whole(sent);
        return evidence_text(compat::evidence_of_refusal(release, image(body, false), {}));
    }

    CaseFile file;
    compat::CompiledRelease release;
    std::size_t stamp = 0;
    Bytes settings;
};

const std::string clamps = R"("out-of-range": "clamp", "off-step": "keep", "unknown-choice": "reset")";
const std::string of_device = " at device.json/rules/";

ValueSeen seen(const std::string& parameter, bool as_predicted, const std::vector<RuleSeen>& rules) {
    ValueSeen value;
    value.parameter = value.id = parameter;
    value.as_predicted = as_predicted;
    value.rules = rules;
    return value;
}

RuleSeen rule_seen(std::optional<Action> stated, const std::vector<Action>& fits, std::size_t line = 4) {
    RuleSeen rule;
    rule.stated = stated;
    rule.fits = fits;
    if (stated) rule.place = {"1.0.json", line, 1, ""};
    return rule;
}

/// "RULE PARAMETERS: stated S, fits F, V values in P presets, C confirmed, E examples".
std::string faults_text(const std::vector<compat::RuleFault>& faults) {
    std::string text;
    for (const compat::RuleFault& fault : faults) {
        text += std::string(schema::row_of(fault.rule).name);
        for (const std::string& parameter : fault.parameters) text += " " + parameter;
        text += ":" + (fault.stated ? actions_of({*fault.stated}) : " unstated") + ", fits" + actions_of(fault.fits);
        text += ", " + std::to_string(fault.values) + " values in " + std::to_string(fault.presets.size()) +
                " presets, " + std::to_string(fault.confirmed) + " confirmed, " +
                std::to_string(fault.examples.size()) + " examples";
        if (!fault.own_parameter.empty()) text += ", own of " + fault.own_parameter;
        text += fault.place.line == 0 ? "\n" : ", line " + std::to_string(fault.place.line) + "\n";
    }
    return text;
}

std::string faults_text(const std::vector<compat::ValueFault>& faults) {
    std::string text;
    for (const compat::ValueFault& fault : faults) {
        text += fault.parameter + " at line " + std::to_string(fault.place.line) + acted(fault.act) + ": " +
                std::to_string(fault.values) + " values in " + std::to_string(fault.presets.size()) + " presets, " +
                std::to_string(fault.examples.size()) + " examples\n";
    }
    return text;
}

}  // namespace

TEST_CASE("contradiction: what a unit shows of a number tells which possibility of a rule it took, and only of it") {
    const UnitSeen unit(clamps, R"("parameters": {
        "drive": { "at": 0, "range": [0, 50] },
        "tone": { "at": 1, "range": [0, 50], "step": 5, "rules": { "off-step": "round" } },
        "mode": { "at": 2, "choices": ["Room", "Hall", "Spring"], "default": "Hall" } })");
    CHECK(unit.told("05 05 00", "05 05 00").empty());
    const auto drive = [&](const std::string& shown) { return unit.told("3C 05 00", shown + " 05 00"); };  // 60
    const std::string range = "  out-of-range clamp" + of_device + "out-of-range, fits";
    CHECK(drive("32") == "drive: 50 -> 50, clamped\n" + range + " clamp\n");
    CHECK(drive("3C") == "drive: 50 -> 60, clamped, otherwise\n" + range + " keep\n");
    CHECK(drive("09") == "drive: 50 -> 9, clamped, otherwise\n" + range + " wrap\n");
    CHECK(drive("00") == "drive: 50 -> 0, clamped, otherwise\n" + range + " reset\n");
    CHECK(drive("28") == "drive: 50 -> 40, clamped, otherwise\n" + range + " none\n");
    // A parameter's own rule, and one of the device beside it.
    const std::string step = "  off-step round of its own at 1.0.json/parameters/tone/rules/off-step, fits";
    CHECK(unit.told("05 0C 00", "05 0A 00") == "tone: 10 -> 10, rounded\n" + step + " round\n");
    CHECK(unit.told("05 0C 00", "05 0C 00") == "tone: 10 -> 12, rounded, otherwise\n" + step + " keep\n");
    CHECK(unit.told("05 3C 00", "05 32 00") == "tone: 50 -> 50, clamped\n" + range + " clamp\n");
    CHECK(unit.told("05 05 07", "05 05 02") == "mode: Hall -> Spring, reset, otherwise\n  unknown-choice reset" +
                                                   of_device + "unknown-choice, fits clamp\n");
    const UnitSeen unstated("", R"("parameters": { "drive": { "at": 0, "range": [0, 50] } })");
    CHECK(unstated.told("3C", "3C") == "drive: 50 -> 60, clamped, otherwise\n  out-of-range unstated, fits keep\n");
    // A release that was put together without files has no places.
    schema::Release bare = *unit.file.device.releases[0].schema;
    bare.rule_places.clear();
    const compat::CompiledRelease compiled(unit.file.device, bare);
    const Bytes body = UnitSeen::whole("3C 05 00");
    CHECK(evidence_text(compat::evidence_of(compiled, unit.image(body, false), compiled, unit.image(body, true), {})) ==
          "drive: 50 -> 60, clamped, otherwise\n  out-of-range clamp, fits keep\n");
}

TEST_CASE("contradiction: what a parameter then is, or means, by another one is no evidence about it") {
    const UnitSeen unit(clamps, R"("parameters": {
        "mode": { "at": 0, "choices": ["Room", "Hall", "Spring"], "default": "Hall" },
        "depth": { "at": 1, "choices": ["Low", "High"], "when": { "parameter": "mode", "is": "Hall" } },
        "tone": { "at": 2, "range": [0, 50], "varies": [ { "when": { "parameter": "mode", "is": "Spring" }, "range": [0, 20] } ] },
        "gain": { "at": 3, "range": [0, 50], "when": { "parameter": "mode", "is": "Hall" } } })");
    // An unknown mode becomes Hall, where all four are there; under other possibilities two are not.
    CHECK(unit.told("09 09 3C 3C", "01 00 32 32") == "mode: Hall -> Hall, reset\n  unknown-choice reset" + of_device +
                                                         "unknown-choice, fits reset\n"
                                                         "tone: 50 -> 50, clamped\n  out-of-range clamp" +
                                                         of_device +
                                                         "out-of-range, fits clamp\n"
                                                         "gain: 50 -> 50, clamped\n  out-of-range clamp" +
                                                         of_device + "out-of-range, fits clamp\n");
    // What is not there shows nothing of a rule.
    CHECK(unit.told("01 00 05 3C", "00 00 05 3C") ==
          "mode: Hall -> Room, otherwise\n"
          "depth: Low -> nothing, otherwise, follows\n"
          "gain: 50 -> nothing, clamped, otherwise, follows\n");
    CHECK(unit.told("00 00 05 05", "01 01 05 06") ==
          "mode: Room -> Hall, otherwise\n"
          "depth: nothing -> High, otherwise, follows\n"
          "gain: nothing -> 6, otherwise, follows\n");
    CHECK(unit.told("00 00 05 05", "00 01 05 06").empty());
}

TEST_CASE("contradiction: what hangs on a value that is otherwise than predicted follows it, however far away") {
    // `last` asks `middle`, which is as predicted and asks `first`.
    const UnitSeen unit(clamps, R"("parameters": {
        "last": { "at": 2, "when": { "parameter": "middle", "is": 1 } },
        "middle": { "at": 1, "when": { "parameter": "first", "at-least": 0 } },
        "first": { "at": 0 },
        "other": { "at": 3 } })");
    CHECK(unit.told("01 01 05 07", "02 01 06 08") ==
          "last: 5 -> 6, otherwise, follows\n"
          "first: 1 -> 2, otherwise\n"
          "other: 7 -> 8, otherwise\n");
    CHECK(unit.told("01 01 05 07", "01 01 06 07") == "last: 5 -> 6, otherwise\n");
    std::string chain = R"("parameters": { "p0": { "at": 0 })";
    for (int i = 1; i < 16; ++i) {
        chain += ", \"p" + std::to_string(i) + "\": { \"at\": " + std::to_string(i) +
                 ", \"when\": { \"parameter\": \"p" + std::to_string(i - 1) + "\", \"at-least\": 0 } }";
    }
    const UnitSeen far(clamps, chain + " }");
    CHECK(far.told("00", "01 00 00 00 00 00 00 00 00 00 00 00 00 00 00 01") ==
          "p0: 0 -> 1, otherwise\np15: 0 -> 1, otherwise, follows\n");
}

TEST_CASE("contradiction: what nobody says is there may be anything") {
    const UnitSeen held(R"("shorter-image": "held")",
                        R"("parameters": { "drive": { "at": 0 }, "gain": { "at": 8, "range": [0, 50] } })");
    const std::string of_rule = "\n  shorter-image held" + of_device + "shorter-image, fits";
    CHECK(held.told_of({5}, UnitSeen::whole("05 00 00 00 00 00 00 00 07")) ==
          "gain: whatever was there before -> 7, held" + of_rule + " held\n");
    CHECK(held.told_of({5}, UnitSeen::whole("05")) ==
          "gain: whatever was there before -> 0, held" + of_rule + " default zero held\n");
    const UnitSeen refused(clamps, R"("parameters": { "drive": { "at": 0, "range": [0, 50],
        "rules": { "out-of-range": "refuse", "refuses": "parameter" } } })");
    CHECK(refused.told("3C", "07") ==
          "drive: 60 -> 7, refused\n"
          "  out-of-range refuse of its own at 1.0.json/parameters/drive/rules/out-of-range, fits refuse\n");
}

TEST_CASE("contradiction: a parameter that is refused with its block contradicts no rule of its own") {
    const UnitSeen unit(clamps, R"("groups": { "amp": { "kind": "block", "at": 0 } }, "parameters": {
        "amp.gain": { "at": 0, "range": [0, 50], "rules": { "out-of-range": "refuse", "refuses": "block" } },
        "amp.tone": { "at": 1, "range": [0, 50], "rules": { "refuses": "block" } } })");
    const std::string gain =
        "amp.gain: 60 -> 7, refused\n  out-of-range refuse of its own at "
        "1.0.json/parameters/amp.gain/rules/out-of-range, fits refuse\n";
    CHECK(unit.told("3C 05", "07 09") == gain);
    // Beyond its range itself: what is stated is what was predicted.
    CHECK(unit.told("3C 3C", "07 08") ==
          gain + "amp.tone: 50 -> 8, refused\n  out-of-range clamp" + of_device + "out-of-range, fits clamp refuse\n");
}

TEST_CASE("contradiction: a parameter that refuses to be cut off, alone, is as predicted whatever is there") {
    const UnitSeen unit(R"("shorter-image": "zero")", R"("parameters": { "first": { "at": 0 }, "gain": { "at": 8,
        "rules": { "shorter-image": "refuse", "refuses": "parameter" } } })");
    CHECK(unit.told_of({5}, UnitSeen::whole("05 00 00 00 00 00 00 00 07")) ==
          "gain: 0 -> 7, refused\n"
          "  shorter-image refuse of its own at 1.0.json/parameters/gain/rules/shorter-image, fits held refuse\n");
}

TEST_CASE("contradiction: of two records with one number either may be what the unit holds") {
    const CaseFile file = case_from(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "records": { "head": ["id", "length"] } } } },
  "rules": { "missing-parameter": "held", "repeated-key": "last" } }
== release 1.0
"stamp": 1,
"parameters": { "gain": { "tag": 1 }, "tone": { "tag": 2, "at": 1 } }
)",
                                    "contradiction_test");
    const compat::CompiledRelease release(file.device, *file.device.releases[0].schema);
    const Bytes body = from_hex("01 01 05  02 01 07  02 02 07 00");  // the first of number 2 ends before the tone
    compat::Image sent, shown;
    sent.body = shown.body = body;
    const Bytes after = from_hex("01 01 05  02 02 07 00");
    shown.body = after;
    shown.as_it_stands = true;
    CHECK(evidence_text(compat::evidence_of(release, sent, release, shown, {})) ==
          "tone: 0 -> 0\n  repeated-key last" + of_device + "repeated-key, fits first last\n");
}

TEST_CASE("contradiction: what a unit has for itself, or one way of storing has no place for, shows nothing") {
    UnitSeen unit(clamps, R"("parameters": { "drive": { "at": 0 },
        "master": { "at": 0, "range": [0, 10], "scope": "unit" } })");
    unit.settings = {20};
    CHECK(unit.told("05", "06") == "drive: 5 -> 6, otherwise\n");
    const CaseFile file = case_from(stored_both_ways(R"("1.0")") + R"(== release 1.0
"stamp": 1,
"parameters": { "drive": { "at": 0, "in": { "export": { "path": "/drive" } } }, "gain": { "at": 1 },
                "tone": { "in": { "export": { "path": "/tone" } } } }
)",
                                    "contradiction_test");
    const schema::Release& release = *file.device.releases[0].schema;
    const compat::CompiledRelease bytes(file.device, release.in_layout(0));
    const compat::CompiledRelease named(file.device, release.in_layout(1));
    const Bytes body = from_hex("05 07 00 00");
    const std::string text = R"({"drive": 6, "tone": 9})";
    const Bytes exported(text.begin(), text.end());
    compat::Image of_bytes, of_text;
    of_bytes.body = body;
    of_text.body = exported;
    of_text.layout = 1;
    of_text.as_it_stands = true;
    CHECK(evidence_text(compat::evidence_of(bytes, of_bytes, named, of_text, {})) == "drive: 5 -> 6, otherwise\n");
    of_text.as_it_stands = false;
    of_bytes.as_it_stands = true;
    CHECK(evidence_text(compat::evidence_of(named, of_text, bytes, of_bytes, {})) == "drive: 6 -> 5, otherwise\n");
}

TEST_CASE("contradiction: a preset that was to be refused, and is there, speaks against what refuses it") {
    const std::string parameters =
        R"("parameters": { "tone": { "at": 1, "range": [0, 50] }, "drive": { "at": 0, "range": [0, 50] } })";
    const UnitSeen unit(R"("out-of-range": "refuse")", parameters);
    CHECK(unit.told("3C", "32") ==
          "whole preset of drive: refused: it does not take the stored number of drive -> loaded, refused, otherwise\n"
          "  out-of-range refuse" +
              of_device + "out-of-range, fits clamp reset wrap keep\n");
    UnitSeen newer(R"("newer-stamp": "refuse")", parameters);
    newer.stamp = 1;
    CHECK(newer.told("05", "05") ==
          "whole preset: refused: it was saved on a newer release -> loaded, refused, otherwise\n"
          "  newer-stamp refuse" +
              of_device + "newer-stamp, fits load\n");
    // Two rules of their own bring about together that the drive is there: no possibility for all refuses it.
    const UnitSeen together(R"("out-of-range": "refuse")", R"("parameters": {
        "a": { "at": 0, "range": [0, 50], "step": 5, "rules": { "off-step": "round" } },
        "b": { "at": 1, "range": [0, 50], "step": 5, "rules": { "off-step": "keep" } },
        "drive": { "at": 2, "range": [0, 50],
                   "when": { "all": [ { "parameter": "a", "is": 10 }, { "parameter": "b", "is": 12 } ] } } })");
    CHECK(together.told("0C 0C 3C", "0A 0C 05") ==
          "whole preset of drive: refused: it does not take the stored number of drive -> loaded, refused, otherwise\n"
          "  out-of-range refuse" +
              of_device + "out-of-range, fits clamp reset wrap keep\n");
}

TEST_CASE("contradiction: a slot that stayed empty speaks for what would have refused the preset") {
    const std::string parameters = R"("parameters": { "drive": { "at": 0, "range": [0, 50] } })";
    const UnitSeen unit(clamps, parameters);
    CHECK(unit.told_of_nothing("3C") ==
          "whole preset: loaded -> nothing in that slot, otherwise\n"
          "  out-of-range clamp" +
              of_device + "out-of-range, fits refuse\n");
    CHECK(unit.told_of_nothing("05") == "whole preset: loaded -> nothing in that slot, otherwise\n");
    CHECK(UnitSeen(R"("out-of-range": "refuse")", parameters).told_of_nothing("3C").empty());
}

TEST_CASE("contradiction: evidence of many values about one statement is gathered, and what it has in common told") {
    compat::Evidence evidence;
    const auto against = [](const std::vector<Action>& fits) { return rule_seen(Action::clamp, fits); };
    evidence.add(0, {seen("drive", false, {against({Action::reset, Action::keep})}),
                     seen("tone", true, {against({Action::clamp})}),
                     seen("mix", true, {against({Action::clamp, Action::reset})})});
    evidence.add(1,
                 {seen("drive", false, {against({Action::reset})}), seen("drive", false, {against({Action::reset})})});
    CHECK(faults_text(evidence.rule_faults()) ==
          "out-of-range drive: clamp, fits reset, 3 values in 2 presets, 1 confirmed, 3 examples, line 4\n");
    CHECK(evidence.rule_faults().front().examples[2].preset == 1);
    CHECK(evidence.value_faults().empty());
    compat::Evidence two;
    two.add(0, {seen("drive", false, {against({Action::reset, Action::keep})}),
                seen("gain", false, {against({Action::keep, Action::wrap})})});
    CHECK(faults_text(two.rule_faults()) ==
          "out-of-range drive gain: clamp, fits keep, 2 values in 1 presets, 0 confirmed, 2 examples, line 4\n");
    // Nothing is in common: then each parameter has a fault of its own, and what speaks against the rule confirms
    // nothing.
    evidence.add(2, {seen("gain", false, {against({Action::wrap})})});
    CHECK(faults_text(evidence.rule_faults()) ==
          "out-of-range drive: clamp, fits reset, 3 values in 2 presets, 1 confirmed, 3 examples, line 4\n"
          "out-of-range gain: clamp, fits wrap, 1 values in 1 presets, 2 confirmed, 1 examples, line 4\n");
    evidence.add(3, {seen("gain", false, {against({Action::reset})})});
    CHECK(faults_text(evidence.rule_faults()) ==
          "out-of-range drive: clamp, fits reset, 3 values in 2 presets, 1 confirmed, 3 examples, line 4\n"
          "out-of-range gain: clamp, fits none, 2 values in 2 presets, 2 confirmed, 2 examples, line 4\n");
}

TEST_CASE("contradiction: a rule that nobody states is settled by what not every possibility leads to") {
    compat::Evidence evidence;
    const std::vector<Action> all{Action::clamp, Action::reset, Action::wrap, Action::keep, Action::refuse};
    evidence.add(0, {seen("drive", true, {rule_seen({}, all)})});
    evidence.add(1, {seen("drive", false, {rule_seen({}, {})})});
    CHECK(evidence.rule_faults().empty());
    CHECK(faults_text(evidence.value_faults()) == "drive at line 0: 1 values in 1 presets, 1 examples\n");
    RuleSeen own = rule_seen({}, {Action::clamp, Action::reset, Action::wrap, Action::keep});
    evidence.add(2, {seen("drive", true, {own})});
    CHECK(faults_text(evidence.rule_faults()) ==
          "out-of-range drive: unstated, fits clamp reset wrap keep, 1 values in 1 presets, 0 confirmed, 1 examples\n");
    // Of whole presets no parameter is concerned; what follows another says nothing of its own.
    compat::Evidence whole;
    RuleSeen newer = rule_seen(Action::refuse, {Action::load});
    newer.rule = Rule::newer_stamp;
    whole.add(0, {seen("", false, {newer})});
    ValueSeen following = seen("gain", false, {rule_seen(Action::clamp, {Action::keep})});
    following.follows = true;
    whole.add(0, {following});
    CHECK(faults_text(whole.rule_faults()) ==
          "newer-stamp: refuse, fits load, 1 values in 1 presets, 0 confirmed, 1 examples, line 4\n");
    CHECK(whole.rule_faults().front().parameters.empty());
    CHECK(whole.value_faults().empty());
    // One parameter's own rule, in another line than the general one.
    own = rule_seen(Action::clamp, {Action::keep}, 9);
    own.of_parameter = true;
    whole.add(1, {seen("tone", false, {own})});
    CHECK(faults_text(whole.rule_faults()) ==
          "out-of-range tone: clamp, fits keep, 1 values in 1 presets, 0 confirmed, 1 examples, own of tone, line 9\n"
          "newer-stamp: refuse, fits load, 1 values in 1 presets, 0 confirmed, 1 examples, line 4\n");
}

TEST_CASE("contradiction: values that no rule explains are counted, the first eight kept as examples") {
    compat::Evidence evidence;
    for (std::size_t i = 0; i < 10; ++i) {
        ValueSeen value = seen("drive", false, {});
        value.place.line = 5 + i;
        value.act = i == 0 ? Act::clamped : Act::reset;
        evidence.add(i / 2, {value, seen("tone", false, {rule_seen(Action::clamp, {Action::keep})})});
        evidence.add(i / 2, {seen("mix", true, {})});
    }
    CHECK(faults_text(evidence.value_faults()) == "drive at line 5, clamped: 10 values in 5 presets, 8 examples\n");
    CHECK(faults_text(evidence.rule_faults()) ==
          "out-of-range tone: clamp, fits keep, 10 values in 5 presets, 0 confirmed, 8 examples, line 4\n");
    CHECK(evidence.value_faults().front().examples[7].preset == 3);
}
