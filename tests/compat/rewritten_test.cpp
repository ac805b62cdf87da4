// Dumps that were written anew for a release: what is told of them, against the preset that they were made from.
#include <string>
#include <utility>
#include <vector>

#include "compat/by_name.h"
#include "compat/case_file.h"
#include "compat/check.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

/// "PARAMETER OUTCOME WEIGHT: SAVED -> LOADED; RULE; at OFFSET -> OFFSET" of each finding; the verdict before.
std::string told_of(const compat::PresetCheck& preset) {
    if (preset.targets.empty()) return "not checked\n";
    const compat::TargetCheck& check = preset.targets[0];
    std::string text = std::string(compat::verdict_name(check.verdict)) + "\n";
    const auto place = [](const std::optional<std::size_t>& offset, const std::string& path, std::size_t line) {
        if (!path.empty()) return path + " in line " + std::to_string(line);
        return offset ? std::to_string(*offset) : std::string("-");
    };
    for (const compat::Finding& finding : check.findings) {
        text += finding.parameter + " " + std::string(compat::row_of(finding.outcome).name) + " " +
                std::string(compat::weight_name(finding.weight)) + ": ";
        text += (finding.saved ? finding.saved->value : "-") + " -> " + (finding.loaded ? finding.loaded->value : "-");
        text += "; " + finding.rule + "; " + place(finding.saved_offset, finding.saved_path, finding.saved_line) +
                " -> " + place(finding.loaded_offset, finding.loaded_path, finding.loaded_line) + "\n";
    }
    return text;
}

/// What comes of presets of a dump on the oldest release, of those named as they were written for it.
std::vector<std::string> told(const schema::Device& device, const Bytes& original, const Bytes& written,
                              const std::vector<bool>& entries) {
    const auto before = dump::read("before.file", original, device);
    const auto after = dump::read("after.file", written, device);
    REQUIRE(before);
    REQUIRE(after);
    compat::CheckOptions options;
    options.targets = {0};
    options.brought_by = false;
    compat::Checker checker(device, options);
    const compat::Rewriting rewriting{after.value(), written, entries};
    std::vector<std::string> texts;
    for (const auto& preset : compat::check_dump(checker, before.value(), original, &rewriting).presets) {
        CHECK_FALSE(preset.stamp.empty());
        texts.push_back(told_of(preset));
    }
    return texts;
}

/// Presets of nine bytes, of which the last says whether there is one.
const std::string numbers = R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0", "2.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "size": 9 }, "empty": { "at": 8, "bytes": "7F" } } },
  "rules": { "out-of-range": "clamp", "off-step": "round", "newer-stamp": "load" } }
== release 1.0
"stamp": 1, "parameters": {
  "drive": { "at": 0, "range": [0, 50] },
  "low":   { "at": 1, "range": [20, 100] },
  "least": { "at": 2, "range": [20, 100] },
  "most":  { "at": 3, "range": [0, 50] },
  "mix":   { "at": 4, "range": [0, 100], "step": 20 },
  "small": { "at": 5, "as": "bits", "bit": 0, "width": 4 },
  "wide":  { "at": 6, "range": [0, 100], "scale": { "stored": [0, 50], "value": [0, 100] } },
  "moved": { "at": 7, "range": [0, 50] } }
== release 2.0
"stamp": 2, "parameters": {
  "moved": { "at": 0, "range": [0, 100] },
  "drive": { "at": 1, "range": [0, 100] }, "low": { "at": 2, "range": [0, 100] }, "least": { "at": 3, "range": [0, 100] },
  "most":  { "at": 4, "range": [0, 100] }, "mix": { "at": 5, "range": [0, 100] }, "small": { "at": 6, "range": [0, 100] },
  "wide":  { "at": 7, "range": [0, 100] } }
)";

}  // namespace

TEST_CASE("rewritten: what was put in place of a value is told as that, on the release's own terms") {
    const CaseFile file = case_from(numbers, "rewritten_test");
    // moved 40, drive 70, low 10, least 20, most 50, mix 50, small 30, wide 20
    const Bytes original = from_hex("F0 7D 09 00 02  28 46 0A 14 32 32 1E 14  00  F7");
    // drive 50, low 20, least 30, most 40, mix 60, small 15, wide as it was stored, moved 60, which the release does
    // not take
    const Bytes written = from_hex("F0 7D 09 00 01  32 14 1E 28 3C 0F 14 3C  00  F7");
    const std::vector<std::string> texts = told(file.device, original, written, {true});
    REQUIRE(texts.size() == 1);
    CHECK(texts[0] ==
          "altered\n"
          "moved clamped audible: 40 -> 50; out-of-range: clamp; 5 -> 12\n"
          "drive clamped audible: 70 -> 50; the nearest that was put there; 6 -> 5\n"
          "low clamped audible: 10 -> 20; the nearest that was put there; 7 -> 6\n"
          "least rounded audible: 20 -> 30; the nearest that was put there; 8 -> 7\n"
          "most rounded audible: 50 -> 40; the nearest that was put there; 9 -> 8\n"
          "mix rounded audible: 50 -> 60; the nearest that was put there; 10 -> 9\n"
          "small rounded audible: 30 -> 15; the nearest that was put there; 11 -> 10\n"
          "wide rounded audible: 20 -> 40; off-step: round; 12 -> 11\n");
}

TEST_CASE("rewritten: presets that were left alone are judged as they were, and empty slots not at all") {
    const CaseFile file = case_from(numbers, "rewritten_test");
    const Bytes original = from_hex(
        "F0 7D 09 00 02  00 05 14 14 00 00 00 00  7F  F7 "
        "F0 7D 09 01 02  00 46 14 14 00 00 00 00  00  F7 "
        "F0 7D 09 02 02  14 14 14 14 14 14 14 14  00  F7");
    const Bytes written = from_hex(
        "F0 7D 09 00 01  00 00 00 00 00 00 00 00  7F  F7 "
        "F0 7D 09 01 01  32 14 14 00 00 00 00 00  00  F7 "
        "F0 7D 09 02 01  00 00 00 00 00 00 00 00  00  F7");
    const std::vector<std::string> texts = told(file.device, original, written, {true, true, false});
    REQUIRE(texts.size() == 3);
    CHECK(texts[0] == "not checked\n");
    CHECK(texts[1] == "altered\ndrive clamped audible: 70 -> 50; the nearest that was put there; 21 -> 20\n");
    // What 2.0 wrote there 1.0 takes for the parameter that it has at that byte.
    CHECK(texts[2].find("drive displaced none: 20 -> 20; reads where moved is stored; 36 -> 35\n") !=
          std::string::npos);
    CHECK(texts[2].find("the nearest that was put there") == std::string::npos);
}

TEST_CASE("rewritten: by name, either place is told by its path and line") {
    const schema::Device device =
        redstart("json", R"("out-of-range": "clamp", "unknown-parameter": "skip", "missing-parameter": "default")",
                 R"("parameters": { "level": { "path": "/loudness", "range": [0, 50] } })",
                 R"("parameters": { "level": { "path": "/level", "range": [0, 100] } })");
    const auto bytes = [](const std::string& text) { return Bytes(text.begin(), text.end()); };
    const Bytes original = bytes("{\"presets\": [\n{\"release\": \"2.0\",\n\"level\": 70}]}");
    const Bytes written = bytes("{\"presets\": [{\"release\": \"1.0\",\n\n\n\"loudness\": 50}]}");
    const std::vector<std::string> texts = told(device, original, written, {true});
    REQUIRE(texts.size() == 1);
    CHECK(texts[0] ==
          "altered\nlevel clamped audible: 70 -> 50; the nearest that was put there; /level in line 3 -> /loudness in "
          "line 4\n");
}
