// What a checker tells beside findings: what it was not asked for, why something is undecided, names, ranges.
#include "compat/check.h"

#include <string>

#include "compat/case_file.h"
#include "compat/file_places.h"
#include "compat/outcome.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::testing;
using compat::CheckOptions;
using compat::PresetCheck;
using compat::TargetCheck;
using compat::Verdict;

namespace {

/// A whole dump of one device checked, with its entries at hand.
struct Checking {
    Checking(const CaseFile& file, const Bytes& bytes, const CheckOptions& options)
        : dump(dump::read("one.syx", bytes, file.device).value()),
          checker(file.device, options),
          checked(compat::check_dump(checker, dump, bytes)) {}

    [[nodiscard]] const TargetCheck& target(std::size_t preset = 0) const {
        return checked.presets.at(preset).targets.at(0);
    }

    dump::Dump dump;
    compat::Checker checker;
    compat::DumpCheck checked;
};

CheckOptions on(std::size_t release) {
    CheckOptions options;
    options.targets = {release};
    return options;
}

CaseFile checking_case(const std::string& text) {
    return case_from(text, "check_test");
}

/// A framing without anything but stamps.
std::string stamped_device(const std::string& releases) {
    return R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "unlisted-stamps": "unknown",
  "releases": [)" +
           releases +
           R"(], "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "size": 2 } } } }
)";
}

const std::string drives = R"(== release 1.0
"parameters": { "drive": { "at": 0, "range": [0, 50] } }
== release 2.0
"extends": "1.0", "parameters": { "drive": { "range": [0, 100] } }
)";
const Bytes seventy = from_hex("F0 7D 09 00 02  46 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00  F7");

}  // namespace

TEST_CASE("check: which later release brings a value back is told unless that is not wanted; more only if wanted") {
    const CaseFile file = checking_case(drives);
    const Checking plain(file, seventy, on(0));
    REQUIRE(plain.target().findings.size() == 1);
    CHECK(plain.target().findings[0].brought_by == "2.0");
    CHECK(plain.target().findings[0].saved_line == 0);
    CHECK(plain.target().findings[0].loaded_line == 0);
    CHECK_FALSE(plain.checked.presets[0].intact);
    CHECK_FALSE(plain.checked.presets[0].near);
    CheckOptions options = on(0);
    options.brought_by = false;
    options.floors = true;
    const Checking other(file, seventy, options);
    CHECK(other.target().findings[0].brought_by.empty());
    CHECK(other.checked.presets[0].intact);
    CHECK(other.checked.presets[0].near);
}

TEST_CASE("check: what else a preset may be is kept only if that is wanted, with fingerprints of its own") {
    const CaseFile file = checking_case(R"(== release 1.0
"parameters": { "drive": { "at": 0, "range": [0, 50], "varies": [ { "when": { "fact": "board", "is": "new" }, "range": [0, 60] },
                                                                  { "when": { "fact": "board", "is": "odd" }, "range": [0, 40] } ] } }
== release 2.0
"parameters": { "drive": { "at": 0, "range": [0, 100] } }
)");
    CHECK(Checking(file, seventy, on(0)).target().others.empty());
    CheckOptions options = on(0);
    options.others = true;
    const Checking kept(file, seventy, options);
    CHECK(kept.target().told_for.empty());
    REQUIRE(kept.target().others.size() == 2);
    CHECK(kept.target().others[0].told_for == "board new");
    CHECK(kept.target().others[1].told_for == "board odd");
    for (const TargetCheck& one : kept.target().others) {
        CHECK(one.others.empty());
        CHECK(one.fingerprint == kept.target().fingerprint);
        REQUIRE(one.findings.size() == 1);
        CHECK(one.findings[0].fingerprint == kept.target().findings[0].fingerprint);
    }
    // Of two things each with others of its own, all are kept side by side.
    const CaseFile stamps =
        checking_case(stamped_device(R"("1.0", { "release": "2.0", "stamp": 2 }, { "release": "3.0", "stamp": 2 })") +
                      R"(== release 1.0
"stamp": 1, "rules": { "out-of-range": "clamp", "newer-stamp": "load" },
"parameters": { "drive": { "at": 0, "range": [0, 50], "varies": [ { "when": { "fact": "board", "is": "new" }, "range": [0, 60] } ] } }
== release 2.0
"stamp": 2, "parameters": { "drive": { "at": 0, "range": [0, 100] } }
== release 3.0
"stamp": 2, "parameters": { "drive": { "at": 0, "range": [0, 90] } }
)");
    const Checking both(stamps, from_hex("F0 7D 09 00 02 46 00 F7"), options);
    REQUIRE(both.target().others.size() == 3);
    for (const TargetCheck& one : both.target().others) CHECK(one.others.empty());
}

TEST_CASE("check: what was not tried to the end is told as such") {
    CheckOptions options = on(0);
    const CaseFile many = read_case("rules/too-many.case");
    const Checking all(many, many.dumps.begin()->second, options);
    CHECK(all.target().verdict == Verdict::undecided);
    CHECK_FALSE(all.target().all_tried);
    const CaseFile file = checking_case(drives);
    CHECK(Checking(file, seventy, options).target().all_tried);
}

TEST_CASE("check: what is decided is so at best and at worst; what is undecided may be anything") {
    const CaseFile file = checking_case(R"(== with
fact variant wren-new
== release 1.0
"variants": { "wren-new": { "oldest-release": "2.0" } }, "parameters": { "drive": { "at": 0 } }
== release 2.0
"parameters": { "drive": { "at": 0 } }
)");
    CheckOptions options = file.options;
    options.targets = {0};
    const Checking refused(file, seventy, options);
    CHECK(refused.target().verdict == Verdict::refused);
    CHECK(refused.target().best == Verdict::refused);
    CHECK(refused.target().worst == Verdict::refused);
    // A damaged entry, on the newer release; and one that says nothing of its damage.
    const CaseFile kept = checking_case(drives);
    const Checking plain(kept, seventy, on(1));
    dump::Entry entry = plain.dump.entries[0];
    entry.state = dump::SlotState::damaged;
    entry.damage = {{std::monostate(), "its check does not match", "", ""}, {std::monostate(), "it is cut", "", ""}};
    compat::Checker checker(kept.device, on(1));
    const PresetCheck damaged = checker.check(entry);
    REQUIRE(damaged.targets.size() == 1);
    CHECK(damaged.targets[0].release == 1);
    CHECK(damaged.targets[0].reason == "damaged: its check does not match");
    CHECK(damaged.targets[0].best == Verdict::intact);
    CHECK(damaged.targets[0].worst == Verdict::refused);
    entry.damage.clear();
    CHECK(checker.check(entry).targets[0].reason == "damaged: unreadable");
}

TEST_CASE(
    "check: a stamp that no release gives is told beside those that are known; without one the release is asked for") {
    const std::string parameters = R"("parameters": { "drive": { "at": 0 } })";
    const CaseFile file = checking_case(
        stamped_device(R"({ "release": "1.0", "stamp": [3, 4] }, { "release": "2.0", "stamp": { "from": 20 } })") +
        "== release 1.0\n\"stamp\": [3, 4], " + parameters + "\n== release 2.0\n\"stamp\": { \"from\": 20 }, " +
        parameters + "\n");
    const Checking unknown(file, from_hex("F0 7D 09 00 0A 05 00 F7"), on(0));
    CHECK(unknown.target().reason ==
          "no release of the device stamps presets with 10 (A hex); known are 3 (1.0), 4 (1.0), "
          "from 20 (2.0)");
    CHECK(unknown.checked.presets[0].unexplained == 0);
    const CaseFile silent = checking_case(stamped_device(R"("1.0")") + "== release 1.0\n" + parameters + "\n");
    CHECK(Checking(silent, from_hex("F0 7D 09 00 0A 05 00 F7"), on(0)).target().reason ==
          "no release of the device stamps presets with 10 (A hex)");
    const CaseFile unstamped = checking_case(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {data...} F7" } }, "preset": ["preset"], "body": { "size": 2 } } } }
== release 1.0
)" + parameters + "\n");
    CHECK(Checking(unstamped, from_hex("F0 7D 09 00 05 00 F7"), on(0)).target().reason ==
          "it carries no stamp: say which release saved it (--saved-on)");
}

TEST_CASE("check: what lies beside presets in a dump is no preset") {
    const CaseFile file = checking_case(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
                           "body": { "size": 2 } },
               "settings": { "holds": "unit-settings", "messages": { "settings": { "bytes": "F0 7D 08 {data...} F7" } },
                             "preset": ["settings"], "body": { "size": 2 } } } }
== release 1.0
"stamp": 1, "parameters": { "drive": { "at": 0 } }
)");
    const Checking both(file, from_hex("F0 7D 08 01 01 F7 F0 7D 09 00 01 05 00 F7"), on(0));
    CHECK(both.dump.entries.size() == 2);
    REQUIRE(both.checked.presets.size() == 1);
    CHECK(both.checked.presets[0].entry == 1);
}

TEST_CASE("check: by name, a preset is called what its release says, else what its layout says") {
    const auto name = [](const std::string& members) {
        const CaseFile file = checking_case(R"(== device
{ "format": "downfit device 1", "device": "wheatear", "title": "Wheatear", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "export": { "as": "json", "presets": "/sounds/*", "slot": { "by": "order" }, "name": "/name", "stamp": "/firmware" } },
  "rules": { "unknown-parameter": "skip" } }
== release 1.0 wheatear
"stamp": "1.0", "parameters": { )" + members +
                                            R"("level": { "path": "/level", "range": [0, 5] } }
== text one
{ "sounds": [ { "firmware": "1.0", "name": "Ebb", "title": "Flow", "level": 9 } ] }
)");
        return Checking(file, file.dumps.at("one"), on(0)).checked.presets.at(0).name;
    };
    CHECK(name("") == "Ebb");
    CHECK(name(R"("title": { "path": "/title", "kind": "text", "role": "name" }, )") == "Flow");
}

TEST_CASE("check: by name, a choice is told by its word, or by its number where there is none for it") {
    const CaseFile file = checking_case(R"(== device
{ "format": "downfit device 1", "device": "wheatear", "title": "Wheatear", "maker": "Quillfeather", "releases": ["1.0", "2.0"],
  "layouts": { "export": { "as": "json", "presets": "/sounds/*", "slot": { "by": "order" }, "stamp": "/firmware" } },
  "rules": { "unknown-choice": "reset", "missing-parameter": "default", "out-of-range": "clamp", "unknown-parameter": "skip", "newer-stamp": "load" } }
== release 1.0 wheatear
"stamp": "1.0", "groups": { "amp": { "path": "/amps/*" } },
"parameters": { "mode": { "path": "/mode", "as": "text", "choices": { "Room": 1, "Hall": 2 }, "default": "Hall" },
                "side": { "path": "/other", "as": "text", "choices": { "Room": 1, "Hall": 2 } },
                "gain": { "path": "/gain", "kind": "real", "range": [0, 0.25] },
                "amp.drive": { "path": "/drive", "range": [0, 50] } }
== release 2.0 wheatear
"stamp": "2.0", "groups": { "amp": { "path": "/amps/*", "count": 2 } },
"parameters": { "mode": { "path": "/mode", "as": "text", "choices": { "Room": 1, "Hall": 2, "Plate": 3 } },
                "side": { "path": "/side", "as": "text", "choices": { "Room": 1, "Hall": 2 } },
                "gain": { "path": "/gain", "kind": "real", "range": [0, 1] },
                "amp.drive": { "path": "/drive", "range": [0, 100] } }
== text one
{ "sounds": [ { "firmware": "2.0", "mode": "Plate", "side": "Hall", "gain": 0.5, "amps": [ { "drive": 70 }, { "drive": 5 } ] } ] }
)");
    const Checking all(file, file.dumps.at("one"), on(0));
    std::string text;
    for (const compat::Finding& finding : all.target().findings) {
        text += finding.parameter + " " + std::string(compat::row_of(finding.outcome).name) + ":";
        for (const std::optional<compat::Shown>& shown : {finding.saved, finding.loaded}) {
            text += " " + (shown ? shown->value + " as " + shown->stored.value_or("nothing") : "-");
        }
        text += "\n";
    }
    CHECK(text ==
          "mode reset: Plate as Plate Hall as Hall\nside reset: Hall as Hall \"0\" (no such choice) as nothing\n"
          "gain clamped: 0.5 as 0.5 0.25 as 0.25\namp[1].drive clamped: 70 as 70 50 as 50\n"
          "amp[2].drive lost: 5 as 5 -\n");
}

TEST_CASE("check: numbers come with where they stand on their range, where that can be drawn") {
    const CaseFile file = checking_case(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0", "2.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7",
                                                     "steps": [ { "unpack": "nibbles", "order": "high-first" } ] } },
               "preset": ["preset"], "body": { "size": 24 } } },
  "rules": { "out-of-range": "keep", "newer-stamp": "load" } }
== release 1.0
"stamp": 1, "groups": { "scene": { "kind": "scene", "at": 16 } }, "parameters": { "none": { "at": 23 } }
== release 2.0
"stamp": 2, "groups": { "scene": { "kind": "scene", "at": 16 } },
"parameters": {
  "drive": { "at": 0, "unit": "kHz", "range": [1, 3] },
  "free":  { "at": 1 },
  "mode":  { "at": 2, "choices": ["Room", "Hall"] },
  "point": { "at": 3, "range": [5, 5] },
  "real":  { "at": 4, "as": "float32", "range": [0, 9] },
  "fader": { "at": 8, "unit": "dB", "range": [-80, 20], "scale": { "stored": [0, 100], "value": [-80, 20] } },
  "low":   { "at": 9, "unit": "dB", "scale": { "stored": [0, 100], "value": [0], "taper": "volume" }, "range": [-60, 0] },
  "huge":  { "at": 10, "unit": "kHz", "range": [0, 1e308] },
  "scene.drive": { "at": 0, "unit": "kHz", "range": [1, 3], "overrides": "drive", "as-base": 255 }
}
)");
    const Checking all(
        file,
        from_hex("F0 7D 09 00 02  00 02  00 07  00 01  00 05  07 0F 08 00 00 00 00 00  03 0C  00 00"
                 "  00 07 00 00 00 00 00 00 00 00 00 00  0F 0F  00 00 00 00 00 00 00 00 00 00 00 00 00 00  F7"),
        on(0));
    std::string text;
    for (const compat::Finding& finding : all.target().findings) {
        if (!finding.saved) continue;
        text += finding.parameter + " " + finding.saved->value;
        if (finding.saved->reach) {
            const compat::Reach& reach = *finding.saved->reach;
            text += ": " + std::to_string(static_cast<int>(reach.value)) + " of " +
                    std::to_string(static_cast<int>(reach.least)) + ".." + std::to_string(static_cast<int>(reach.most));
        }
        text += "\n";
    }
    CHECK(text ==
          "drive 2 kHz: 2000 of 1000..3000\nfree 7\nmode Hall\npoint 5\nreal inf\nfader -20 dB: -20 of -80..20\n"
          "low -inf dB\nhuge 7 kHz\nscene.drive as in the preset\n");
}

TEST_CASE("check: lines of a file begin behind each line end, whatever else stands in them") {
    const std::string text = "\n\ta\rb\n\nc";
    CHECK(compat::line_starts(Bytes(text.begin(), text.end())) == std::vector<std::size_t>{0, 1, 6, 7});
    CHECK(compat::find_weight("severe") == compat::Weight::severe);
    CHECK_FALSE(compat::find_weight("loud"));
}
