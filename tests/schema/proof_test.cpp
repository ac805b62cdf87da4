// Proofing: one broken Brambling for each problem, each with the place and the words that it must give; marks; and that
// errors do not hide what else is wrong.
#include "schema/proof.h"

#include <algorithm>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "schema/siskin.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

using schema::Fault;
using schema::Proof;
using schema::SourceFile;

std::vector<SourceFile> brambling() {
    return corpus_device("brambling");
}

/// "overlap 1.0.json:13 /parameters/tempo/at | what", problems only.
std::string flaw_lines(const Proof& proof, bool notes = false) {
    std::string lines;
    for (const schema::Flaw& flaw : proof.flaws) {
        const schema::FaultRow& row = row_of(flaw.fault);
        if (row.note != notes || flaw.marked) continue;
        const auto& place = std::get<TextPlace>(flaw.problem.place);
        lines += std::string(row.name) + ' ' + place.file + ':' + std::to_string(place.line) + ' ' + place.pointer +
                 " | " + flaw.problem.what + '\n';
        CHECK(!flaw.problem.remedy.empty());
        CHECK(!row.why.empty());
    }
    return lines;
}

struct ProofRow {
    std::string name, file, find, put;
    std::string line;  ///< as flaw_lines writes it
};

const std::vector<ProofRow>& proof_rows() {
    static const std::vector<ProofRow> all{
        {"two parameters in one byte", "1.0.json", R"("tempo":           { "at": 1,)",
         R"("tempo":           { "at": 0,)",
         "overlap 1.0.json:12 /parameters/tempo/at | volume and tempo stand in the same place: bit 0 of byte 0"},
        {"conditions that may hold together", "1.0.json", R"("is": "Mill" })", R"("is": ["Mill", "Weir"] })",
         "overlap 1.0.json:21 /parameters/amp.mill/at | amp[1].weir and amp[1].mill stand in the same place: bit 0 of "
         "byte 11"},
        {"a stride that is too short", "1.0.json", R"("at": 4, "count": 2, "stride": 2)",
         R"("at": 2, "count": 2, "stride": 2)",
         "overlap 1.0.json:22 /parameters/amp.voice.drive/at | amp[1].model and amp[1].voice[1].drive stand in the "
         "same "
         "place: bit 0 of byte 10"},
        {"on the check", "1.1.json", R"("at": 40,)", R"("at": 46,)",
         "overlap 1.1.json:6 /parameters/glide/at | glide stands where layout \"bank\" keeps a check or length: byte "
         "46"},
        {"a range wider than the code", "1.0.json", R"("range": [40, 240])", R"("range": [40, 300])",
         "range-beyond-place 1.0.json:12 /parameters/tempo/range | \"range\" 40 to 300 of tempo goes beyond what its "
         "place can hold"},
        {"a choice wider than the code", "1.0.json", R"("Fast": 1)", R"("Fast": 16)",
         "code-beyond-place 1.0.json:16 /parameters/curve/choices/Fast | number 16 (\"Fast\") of curve does not fit "
         "into its place"},
        {"nothing wider than the code", "1.0.json", R"("nothing": 255)", R"("nothing": 256)",
         "code-beyond-place 1.0.json:14 /parameters/impulse/nothing | \"nothing\" 256 of impulse does not fit into its "
         "place"},
        {"on wider than the code", "1.0.json", R"("on": 2, "as-base": 0)", R"("on": 4, "as-base": 0)",
         "code-beyond-place 1.0.json:23 /parameters/scene.amp-on/on | \"on\" 4 of scene.amp-on does not fit into its "
         "place"},
        {"a default outside its range", "1.0.json", R"("default": -6, "neutral": 0)", R"("default": 6, "neutral": 0)",
         "default-outside-range 1.0.json:11 /parameters/volume/default | \"default\" 6 of volume lies outside its "
         "range "
         "-60 to 0"},
        {"a default that the range left behind", "1.1.json", R"("amp.gain":)",
         R"("tempo": { "range": [130, 240] }, "amp.gain":)",
         "default-outside-range 1.1.json:5 /parameters/tempo/range | \"default\" 120 of tempo lies outside its range "
         "130 to 240"},
        {"a default text that is too long", "1.0.json", R"("default": "Init")", R"("default": "Initial sound")",
         "default-outside-range 1.0.json:10 /parameters/name/default | \"default\" of name has 13 bytes"},
        {"a neutral outside its range", "1.0.json", R"("default": -6, "neutral": 0)", R"("default": -6, "neutral": 6)",
         "neutral-outside-range 1.0.json:11 /parameters/volume/neutral | \"neutral\" 6 of volume lies outside its "
         "range "
         "-60 to 0"},
        {"plays less than the knob", "1.0.json", R"("plays": [0, 110])", R"("plays": [0, 90])",
         "plays-inside-range 1.0.json:15 /parameters/feedback/plays | \"plays\" 0 to 90 of feedback does not take all "
         "of its range 0 to 100"},
        {"a step that does not divide", "1.0.json", R"("step": 2)", R"("step": 16)",
         "step-does-not-divide 1.0.json:12 /parameters/tempo/step | \"step\" 16 of tempo does not divide its range 40 "
         "to 240"},
        {"a step between stored numbers", "1.0.json", R"("step": 0.5)", R"("step": 0.25)",
         "step-does-not-divide 1.0.json:22 /parameters/amp.voice.drive/step | \"step\" 0.25 of amp.voice.drive is no "
         "whole number of stored numbers: the grid falls between them"},
        {"a default between two steps", "1.0.json", R"("default": 120)", R"("default": 121)",
         "setting-off-step 1.0.json:12 /parameters/tempo/default | \"default\" 121 of tempo lies between two steps"},
        {"as-base that is on", "1.0.json", R"("on": 2, "as-base": 0)", R"("on": 2, "as-base": 2)",
         "code-twice 1.0.json:23 /parameters/scene.amp-on/as-base | \"as-base\" 2 of scene.amp-on is also the number "
         "for on"},
        {"as-base that is a value", "1.0.json", R"("range": [-60, 0], "as-base": 0)",
         R"("range": [-60, 0], "as-base": 1)",
         "code-twice 1.0.json:24 /parameters/scene.volume/as-base | \"as-base\" 1 of scene.volume is also the stored "
         "number of -60, within its range"},
        {"nothing that is a slot", "1.0.json", R"("nothing": 255)", R"("nothing": 8)",
         "code-twice 1.0.json:14 /parameters/impulse/nothing | \"nothing\" 8 of impulse is also slot 8 of "
         "impulse-response"},
        {"more voices than there are", "1.0.json", R"("amp.used":        { "at": 1, "range": [1, 2])",
         R"("amp.used":        { "at": 1, "range": [1, 3])",
         "count-beyond 1.0.json:18 /parameters/amp.used/range | range 1 to 3 of amp.used goes beyond the 2 instances "
         "of amp.voice, of which it is \"selected-by\""},
        {"a rule that is missing", "device.json", R"("off-step": "round", )", "",
         "rule-missing device.json:10 /rules | nobody states the rule \"off-step\" on every release for tempo, "
         "amp.voice.drive"},
        {"a rule of whole presets that is missing", "device.json", R"("longer-image": "ignore", )", "",
         "rule-missing device.json:10 /rules | nobody states the rule \"longer-image\" on release 1.0 for whole "
         "presets"},
        {"a list that nothing uses", "1.0.json", R"("models": ["Brook", "Weir", "Mill"])",
         R"("models": ["Brook", "Weir", "Mill"], "modles": ["Pond"])",
         "list-unused 1.0.json:3 /choice-lists/modles | no parameter has the choices of list \"modles\""},
        {"an asset that nothing points at", "device.json", R"("assets": {)",
         R"("assets": { "wave": { "first": 1, "count": 8 },)",
         "asset-unused device.json:4 /assets/wave | no parameter refers to asset \"wave\""},
        {"a mark that nothing needs", "1.0.json", R"("default": -6, "neutral": 0)",
         R"("true-to-device": { "overlap": "so it is" }, "default": -6, "neutral": 0)",
         "mark-unused 1.0.json:11 /parameters/volume/true-to-device/overlap | nothing here is \"overlap\" any more"},
    };
    return all;
}

}  // namespace

TEST_CASE("the Brambling is clean", "[proof]") {
    const Proof proof = schema::proof_device(brambling());
    CHECK(proof.errors.empty());
    CHECK(flaw_lines(proof) == "");
    CHECK(proof.problems() == 0);
    CHECK(proof.proofed == 2);
    REQUIRE(proof.device);
    CHECK(proof.device->releases.size() == 2);
    CHECK(flaw_lines(proof, true) ==
          "gap device.json:9 /layouts/bank/body | 6 of the 40 bytes of layout \"bank\" belong to no parameter in "
          "release \"1.0\": 6-7, 13, 15, 21, 23\n"
          "gap 1.1.json:3 /layouts/bank/body | 7 more of the 48 bytes of layout \"bank\" belong to no parameter in "
          "release "
          "\"1.1\": 38-39, 41-45\n");
}

TEST_CASE("each fault, one broken file", "[proof]") {
    std::map<Fault, int> met;
    for (const ProofRow& row : proof_rows()) {
        CAPTURE(row.name);
        const Proof proof = schema::proof_device(files_with(brambling(), row.file, row.find, row.put));
        CHECK(proof.errors.empty());
        CHECK(flaw_lines(proof) == row.line + '\n');
        CHECK(proof.problems() == 1);
        for (const schema::Flaw& flaw : proof.flaws) ++met[flaw.fault];
    }
    for (const schema::FaultRow& row : schema::fault_table()) {
        CAPTURE(row.name);
        CHECK(met[row.fault] > 0);
    }
}

TEST_CASE("every fault but a stale mark can be marked, in the nearest place or a wider one", "[proof]") {
    for (const ProofRow& row : proof_rows()) {
        const std::string name = row.line.substr(0, row.line.find(' '));
        if (!row_of(*schema::find_fault(name)).may_be_marked) continue;
        CAPTURE(row.name);
        std::vector<SourceFile> files = files_with(brambling(), row.file, row.find, row.put);
        files = files_with(files, "device.json", R"("title": "Brambling")",
                           R"("title": "Brambling", "true-to-device": { ")" + name + R"(": "so it is" })");
        const Proof proof = schema::proof_device(files);
        CHECK(proof.errors.empty());
        CHECK(flaw_lines(proof) == "");
        CHECK(proof.problems() == 0);
        CHECK(proof.marked() == 1);
    }
    const std::string with_mark = R"("default": 121, "true-to-device": { "setting-off-step": "seen" })";
    auto files = files_with(brambling(), "1.0.json", R"("default": 120)", with_mark);
    CHECK(schema::proof_device(files).problems() == 0);
    // Taken away in the next release, where the contradiction is still there.
    files = files_with(files, "1.1.json", R"("amp.gain":)", R"("tempo": { "true-to-device": null }, "amp.gain":)");
    const Proof proof = schema::proof_device(files);
    CHECK(proof.problems() == 1);
    CHECK(proof.marked() == 1);
}

namespace {

/// The Dipper, whose rules are all stated.
std::vector<SourceFile> dipper() {
    auto files =
        files_with(corpus_device("dipper"), "device.json", R"("unknown-parameter": "skip",)",
                   R"("out-of-range": "clamp", "off-step": "round", "unknown-choice": "first", "newer-stamp": "load",
             "older-stamp": "load", "repeated-key": "last", "long-text": "cut", "unknown-parameter": "skip",)");
    return files_with(files, "1.0.json", R"(,
               "true-to-device": { "overlap": "says the maker" } },)",
                      " },");
}

const std::vector<ProofRow>& named_rows() {
    static const std::vector<ProofRow> all{
        {"two parameters at one path", "1.0.json", R"("export": { "path": "/drive", "as": "float32" })",
         R"("export": { "path": "/model", "as": "float32" })",
         "overlap 1.0.json:21 /parameters/amp.drive/in/export/path | amp[1].model and amp[1].drive stand in the same "
         "place "
         "in layout \"export\": /model"},
        {"two parameters at one path in all layouts by name", "1.0.json", R"("path": "/curve/*", "kind": "whole")",
         R"("path": "/note", "kind": "whole")",
         "overlap 1.0.json:14 /parameters/curve/path | note and curve[1] stand in the same place: /note"},
        {"in the same byte in one layout", "1.0.json", R"("bank": { "at": 0, "as-base": 255 })",
         R"("bank": { "at": -29, "as-base": 255 })",
         "overlap 1.0.json:23 /parameters/scene.amp-on/in/bank/at | volume and scene[1].amp-on stand in the same place "
         "in "
         "layout \"bank\": bit 0 of byte 3"},
        {"wider than the code of one layout", "1.0.json",
         R"("at": 3, "unit": "dB", "scale": { "stored": [0, 120], "value": [-60, 0] })",
         R"("at": 3, "unit": "dB", "scale": { "stored": [0, 255], "value": [-60, 0] })", ""},
        {"as-base wider than the place in one layout", "1.0.json", R"("bank": { "at": 0, "as-base": 255 })",
         R"("bank": { "at": 0, "as-base": 256 })",
         "code-beyond-place 1.0.json:23 /parameters/scene.amp-on/in/bank/as-base | \"as-base\" 256 of scene.amp-on in "
         "layout "
         "\"bank\" does not fit into its place"},
        {"a range wider than the code of one layout", "1.0.json", R"("path": "/curve/*", "kind": "whole")",
         R"("path": "/curve/*", "in": { "bank": { "at": 40, "as": "bits", "bit": 0, "width": 4 } }, "kind": "whole")",
         "range-beyond-place 1.0.json:14 /parameters/curve/in/bank/width | \"range\" 0 to 100 of curve in layout "
         "\"bank\" goes "
         "beyond what its place can hold"},
        {"a rule that presets by name ask for", "device.json", R"("repeated-key": "last", )", "",
         "rule-missing device.json:16 /rules | nobody states the rule \"repeated-key\" on every release for whole "
         "presets"},
        {"numbers with a fraction", "device.json", R"("off-step": "round", )", "",
         "rule-missing device.json:16 /rules | nobody states the rule \"off-step\" on every release for curve"},
        {"texts that name no choice", "device.json", R"("unknown-choice": "first", )", "",
         "rule-missing device.json:16 /rules | nobody states the rule \"unknown-choice\" on every release for "
         "amp.model"},
    };
    return all;
}

}  // namespace

TEST_CASE("each layout's storage is proofed, by name too", "[proof]") {
    const Proof clean = schema::proof_device(dipper());
    CHECK(problem_lines(clean.errors).empty());
    CHECK(flaw_lines(clean) == "");
    CHECK(flaw_lines(clean, true) == "");
    CHECK(clean.marked() == 2);
    for (const ProofRow& row : named_rows()) {
        CAPTURE(row.name);
        const Proof proof = schema::proof_device(files_with(dipper(), row.file, row.find, row.put));
        CHECK(problem_lines(proof.errors).empty());
        CHECK(flaw_lines(proof) == (row.line.empty() ? "" : row.line + '\n'));
    }
}

TEST_CASE("gaps can be marked", "[proof]") {
    const Proof proof = schema::proof_device(files_with(brambling(), "1.0.json", R"("stamp": 1,)",
                                                        R"("stamp": 1, "true-to-device": { "gap": "reserved" },)"));
    CHECK(proof.notes() == 0);
    CHECK(proof.marked() == 2);
}

TEST_CASE("pieces of one parameter on top of each other", "[proof]") {
    const Proof proof = schema::proof_device(files_with(
        brambling(), "1.0.json", R"("tempo":           { "at": 1,)",
        R"("tempo":           { "at": [{ "byte": 6, "bit": 0, "width": 8 }, { "byte": 6, "bit": 0, "width": 8 }],
                   "as": "bits",)"));
    // Whether the reader refuses it or proofing does: it is told.
    CHECK(proof.errors.size() + proof.problems() == 1);
}

TEST_CASE("errors of loading are all told at once, each with a place and why it matters", "[proof]") {
    struct Broken {
        std::string name, file, find, put, pointer, what;
    };
    const std::vector<Broken> broken{
        {"a condition on an unknown parameter", "1.0.json", R"({ "parameter": "amp.model", "is": "Mill" })",
         R"({ "parameter": "amp.modle", "is": "Mill" })", "/parameters/amp.mill/when/parameter", "amp.modle"},
        {"conditions in circles", "1.0.json", R"("default": "Brook", "role": "model" })",
         R"("default": "Brook", "role": "model", "when": { "parameter": "amp.mill", "above": 0 } })",
         "/parameters/amp.model", "circles"},
        {"two choices with one number", "1.0.json", R"("Fast": 1)", R"("Fast": 0)", "/parameters/curve/choices/Fast",
         "\"Slow\""},
        {"two choices with one label", "1.0.json", R"(["Brook", "Weir", "Mill"])",
         R"(["Brook", "Weir", "Mill", "Weir"])", "/choice-lists/models/3", "\"Weir\""},
        {"a rename that goes nowhere", "1.1.json", R"("renamed-from": "amp.weir")", R"("renamed-from": "amp.wier")",
         "/parameters/amp.gain/renamed-from", "\"amp.wier\""},
        {"a release that extends itself", "1.1.json", R"("extends": "1.0")", R"("extends": "1.1")", "/extends",
         "circle"},
        {"an asset that nobody defined", "1.0.json", R"("refers-to": "impulse-response")", R"("refers-to": "impulse")",
         "/parameters/impulse/refers-to", "\"impulse\""},
    };
    for (const Broken& row : broken) {
        CAPTURE(row.name);
        const Proof proof = schema::proof_device(files_with(brambling(), row.file, row.find, row.put));
        REQUIRE(!proof.errors.empty());
        CHECK(!proof.device);
        const auto at = std::find_if(proof.errors.begin(), proof.errors.end(), [&](const Problem& problem) {
            return std::get<TextPlace>(problem.place).pointer == row.pointer;
        });
        REQUIRE(at != proof.errors.end());
        const auto& place = std::get<TextPlace>(at->place);
        CHECK(place.file == row.file);
        CHECK(place.line > 0);
        CHECK_THAT(at->what, ContainsSubstring(row.what));
        CHECK(schema::why_of_error(*at) != schema::why_of_error({}));
        CHECK(!(at->expected.empty() && at->remedy.empty()));
    }
}

TEST_CASE("an error in one release does not hide what is wrong with another", "[proof]") {
    auto files = files_with(brambling(), "1.1.json", R"("range": [0, 200])", R"("range": [200, 0])");
    files = files_with(files, "1.1.json", R"("renamed-from": "amp.weir")", R"("renamed-from": "amp.wier")");
    files = files_with(files, "1.0.json", R"("default": 120)", R"("default": 121)");
    const Proof proof = schema::proof_device(files);
    CHECK(proof.errors.size() == 3);  // the rename leaves a parameter without a place
    CHECK(flaw_lines(proof) ==
          "setting-off-step 1.0.json:12 /parameters/tempo/default | \"default\" 121 of tempo lies between two steps\n");
    CHECK(proof.proofed == 1);
    CHECK(proof.left_out == 1);
    const Proof nothing = schema::proof_device({});
    CHECK(nothing.errors.size() == 1);
    CHECK(nothing.flaws.empty());
}

TEST_CASE("conditions that never hold together", "[proof]") {
    struct Pair {
        std::string name, first, second;
        bool apart;
    };
    const std::vector<Pair> pairs{
        {"labels", R"({ "parameter": "amp.model", "is": "Weir" })", R"({ "parameter": "amp.model", "is": "Mill" })",
         true},
        {"not", R"({ "parameter": "amp.model", "is": "Weir" })",
         R"({ "not": { "parameter": "amp.model", "is": "Weir" } })", true},
        {"all labels excluded", R"({ "not": { "parameter": "amp.model", "is": ["Brook", "Weir"] } })",
         R"({ "not": { "parameter": "amp.model", "is": "Mill" } })", true},
        {"some labels left", R"({ "not": { "parameter": "amp.model", "is": "Brook" } })",
         R"({ "not": { "parameter": "amp.model", "is": "Mill" } })", false},
        {"a switch", R"({ "parameter": "amp.on", "is": true })", R"({ "parameter": "amp.on", "is": false })", true},
        {"numbers", R"({ "parameter": "tempo", "below": 100 })", R"({ "parameter": "tempo", "at-least": 100 })", true},
        {"numbers that touch", R"({ "parameter": "tempo", "at-most": 100 })",
         R"({ "parameter": "tempo", "at-least": 100 })", false},
        {"stamps", R"({ "stamp": { "below": "1.1" } })", R"({ "stamp": { "at-least": "1.1" } })", true},
        {"facts", R"({ "fact": "variant", "is": "a" })", R"({ "fact": "variant", "is": "b" })", true},
        {"bytes", R"({ "bytes": { "at": 0, "are": "44" } })", R"({ "bytes": { "at": 0, "are": "45" } })", true},
        {"other bytes", R"({ "bytes": { "at": 0, "are": "44" } })", R"({ "bytes": { "at": 1, "are": "45" } })", false},
        {"any", R"({ "any": [{ "parameter": "amp.model", "is": "Weir" }, { "parameter": "amp.on", "is": true }] })",
         R"({ "parameter": "amp.model", "is": "Mill" })", false},
        {"all", R"({ "all": [{ "parameter": "amp.model", "is": "Weir" }, { "parameter": "amp.on", "is": true }] })",
         R"({ "parameter": "amp.model", "is": "Mill" })", true},
        {"different parameters", R"({ "parameter": "amp.model", "is": "Weir" })",
         R"({ "parameter": "amp.on", "is": true })", false},
    };
    for (const Pair& pair : pairs) {
        CAPTURE(pair.name);
        auto files = files_with(brambling(), "1.0.json", R"({ "parameter": "amp.model", "is": "Weir" })", pair.first);
        files = files_with(files, "1.0.json", R"({ "parameter": "amp.model", "is": "Mill" } })", pair.second + " }");
        const Proof proof = schema::proof_device(files);
        REQUIRE(proof.errors.empty());
        CHECK(proof.problems() == (pair.apart ? 0u : 1u));
    }
}

TEST_CASE("the demo's schemas are clean, or marked", "[proof]") {
    for (const std::string device : {"dunlin-6", "pipit"}) {
        CAPTURE(device);
        std::vector<SourceFile> files;
        for (const auto& entry : std::filesystem::directory_iterator(project_folder() / "schemas" / device))
            files.push_back({entry.path().filename().string(), read_text(entry.path())});
        const Proof proof = schema::proof_device(files);
        CHECK(proof.errors.empty());
        CHECK(flaw_lines(proof) == "");
        CHECK(proof.left_out == 0);
        CHECK(proof.marked() == (device == "pipit" ? 0u : 3u));
    }
}

TEST_CASE("the published list of what can be marked is ours", "[proof]") {
    const std::string text = read_text(project_folder() / "schemas/format/device.schema.json");
    const std::string docs = read_text(project_folder() / "docs/formats.md");
    for (const std::string_view name : schema::markable_faults()) {
        CAPTURE(name);
        CHECK_THAT(text, ContainsSubstring('"' + std::string(name) + '"'));
        CHECK_THAT(docs, ContainsSubstring("| `" + std::string(name) + "` |"));
    }
}

}  // namespace downfit::testing
