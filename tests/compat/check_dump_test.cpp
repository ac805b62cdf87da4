// A whole dump, checked: what stands in it, fingerprints, how many findings are kept, what a refusal takes along.
#include <string>
#include <utility>
#include <vector>

#include "compat/case_file.h"
#include "compat/check.h"
#include "compat/watch.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::testing;
using compat::DumpCheck;
using compat::Verdict;

namespace {

constexpr const char* three_parts = R"(== release 1.0
"budget": 20, "groups": { "amp": { "kind": "block", "at": 6, "cost": 30 } },
"parameters": { "label": { "at": 0, "as": "text", "length": 4, "role": "name" },
                "drive": { "at": 4, "range": [0, 50] }, "tone": { "at": 5, "range": [0, 50] }, "amp.air": { "at": 0 } }
== release 2.0
"extends": "1.0", "parameters": { "drive": { "range": [0, 100] }, "tone": { "range": [0, 100] } }
== release 3.0
"extends": "2.0"
)";

/// One preset: name of four letters, drive, tone. Slots as stored, from 0.
Bytes preset(std::uint8_t slot, const std::string& name, std::uint8_t drive, std::uint8_t tone = 0,
             std::uint8_t stamp = 2) {
    Bytes bytes{0xF0, 0x7D, 0x09, slot, stamp};
    bytes.insert(bytes.end(), name.begin(), name.end());
    bytes.insert(bytes.end(), {drive, tone, 5, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xF7});
    return bytes;
}

Bytes joined(const std::vector<Bytes>& presets) {
    Bytes bytes;
    for (const Bytes& one : presets) bytes.insert(bytes.end(), one.begin(), one.end());
    return bytes;
}

DumpCheck checked(const CaseFile& file, const Bytes& bytes, const std::string& path = "folder/one.syx",
                  std::vector<std::size_t> targets = {0}, std::size_t most = limits::most_findings,
                  const compat::Watch& watch = {}) {
    const auto dump = dump::read(path, bytes, file.device);
    REQUIRE(dump);
    compat::CheckOptions options;
    options.targets = std::move(targets);
    options.most_findings = most;
    compat::Checker checker(file.device, options);
    return compat::check_dump(checker, dump.value(), bytes, watch);
}

/// The fingerprint of the only finding of the first preset.
std::string of_finding(const DumpCheck& check) {
    REQUIRE(check.presets.at(0).targets.at(0).findings.size() == 1);
    return check.presets[0].targets[0].findings[0].fingerprint;
}

std::string of_target(const DumpCheck& check) {
    return check.presets.at(0).targets.at(0).fingerprint;
}

}  // namespace

TEST_CASE("check dump: what stands in it, and what does not") {
    const CaseFile file = case_from(three_parts, "check_dump_test");
    const Bytes bytes = joined({preset(0, "Ebb ", 70), preset(3, "Flow", 10)});
    std::vector<std::pair<std::size_t, std::size_t>> watched;
    const DumpCheck check = checked(file, bytes, "folder/one.syx", {0, 1}, limits::most_findings,
                                    [&](std::size_t done, std::size_t of) { watched.emplace_back(done, of); });
    CHECK(check.file == "folder/one.syx");
    CHECK(check.digest == dump::read("folder/one.syx", bytes, file.device).value().digest);
    CHECK_FALSE(check.digest.empty());
    CHECK(check.absent == std::vector<int>{2, 3});
    CHECK_FALSE(check.stopped);
    REQUIRE(check.presets.size() == 2);
    const compat::PresetCheck& second = check.presets[1];
    CHECK(second.entry == 1);
    CHECK(second.slot == 4);
    CHECK(second.name == "Flow");
    CHECK(second.state == dump::SlotState::filled);
    CHECK(second.stamp == "2");
    CHECK(second.saved_on == std::vector<std::size_t>{1});
    CHECK(second.unexplained == 9);
    REQUIRE(second.targets.size() == 2);
    CHECK(second.targets[0].release == 0);
    CHECK(second.targets[1].release == 1);
    CHECK(second.targets[0].stamped_later);
    CHECK_FALSE(second.targets[1].stamped_later);
    CHECK(second.targets[0].all_tried);
    CHECK(second.targets[0].parameters == 4);
    CHECK(second.targets[0].observed == 0);
    // Only the first has a finding, on one of the releases.
    REQUIRE(check.presets[0].targets[0].findings.size() == 1);
    CHECK(check.presets[0].targets[0].findings[0].saved_offset == std::size_t{9});
    CHECK(check.presets[0].targets[0].findings[0].loaded_offset == std::size_t{9});
    CHECK(watched == std::vector<std::pair<std::size_t, std::size_t>>{{1, 2}, {2, 2}});
}

TEST_CASE("check dump: an entry that is empty is told as such, and checked nowhere") {
    const CaseFile file = case_from(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "size": 2 }, "empty": { "at": 0, "bytes": "7F" } } } }
== release 1.0
"stamp": 1, "parameters": { "drive": { "at": 1 } }
)",
                                    "check_dump_test");
    const DumpCheck check = checked(file, from_hex("F0 7D 09 00 01 7F 00 F7 F0 7D 09 01 01 00 00 F7"));
    REQUIRE(check.presets.size() == 2);
    CHECK(check.presets[0].state == dump::SlotState::empty);
    CHECK(check.presets[0].targets.empty());
    CHECK(check.presets[1].state == dump::SlotState::filled);
    CHECK(check.presets[1].targets.size() == 1);
}

TEST_CASE("check dump: a fingerprint is the digest of what it is of, each part ended by a zero byte") {
    const CaseFile file = case_from(three_parts, "check_dump_test");
    // sha256 of "wren\0one.syx\0Ebb\0" with "1.0\0", and with "drive\0clamped\0" "2.0\0" "1.0\0"; its first 16 digits.
    const DumpCheck ebb = checked(file, preset(0, "Ebb ", 70));
    CHECK(of_target(ebb) == "f21487e4e10814a7");
    CHECK(of_finding(ebb) == "cf8a76c2fca5b876");
    // Where two have one name, the slot as shown stands behind it.
    const DumpCheck flow = checked(file, joined({preset(0, "Flow", 10), preset(2, "Flow", 70)}));
    CHECK(of_target(flow) == "320a403e71c2fe0f");
    REQUIRE(flow.presets[1].targets[0].findings.size() == 1);
    CHECK(flow.presets[1].targets[0].findings[0].fingerprint == "59e41d0fcaf1336b");
}

TEST_CASE("check dump: a fingerprint stays where nothing that it is of changes, and changes where that does") {
    const CaseFile file = case_from(three_parts, "check_dump_test");
    const DumpCheck ebb = checked(file, preset(0, "Ebb ", 70));
    const auto differs = [&](const DumpCheck& other) { return of_finding(other) != of_finding(ebb); };
    CHECK_FALSE(differs(checked(file, preset(5, "Ebb ", 70))));
    CHECK_FALSE(differs(checked(file, preset(0, "Ebb ", 80))));
    CHECK_FALSE(differs(checked(file, preset(0, "Ebb ", 70), "elsewhere/below/one.syx")));
    CHECK_FALSE(differs(checked(file, preset(0, "Ebb ", 70), "one.syx")));
    CHECK_FALSE(differs(checked(file, joined({preset(0, "Ebb ", 70), preset(1, "Flow", 70)}))));
    CHECK(differs(checked(file, preset(0, "Ebb ", 70), "folder/two.syx")));
    CHECK(differs(checked(file, preset(0, "Neap", 70))));
    CHECK(differs(checked(file, preset(0, "Ebb ", 70, 0, 3))));
    CHECK(differs(checked(file, preset(0, "Ebb ", 0, 70))));
    CHECK(of_target(checked(file, preset(0, "Ebb ", 70, 0, 3))) == of_target(ebb));
    CHECK(of_target(checked(file, preset(0, "Ebb ", 70), "folder/one.syx", {1})) != of_target(ebb));
}

TEST_CASE("check dump: as many findings are kept as may be; with one more it stops, and says so") {
    const CaseFile file = case_from(three_parts, "check_dump_test");
    const Bytes bytes = joined({preset(0, "Ebb ", 70, 70), preset(1, "Flow", 70), preset(2, "Neap", 70)});
    CHECK(checked(file, bytes, "one.syx", {0}, 4).presets.size() == 3);
    CHECK_FALSE(checked(file, bytes, "one.syx", {0}, 4).stopped);
    const DumpCheck fewer = checked(file, bytes, "one.syx", {0}, 3);
    CHECK(fewer.presets.size() == 2);
    REQUIRE(fewer.stopped);
    CHECK(fewer.stopped->what == "leads to more than 3 findings");
    CHECK(checked(file, bytes, "one.syx", {0, 0}, 3).presets.empty());
}

TEST_CASE("check dump: what goes with a refused dump has nothing of its own left to tell") {
    const CaseFile refusing = case_from(R"(== rules
"newer-stamp": "load", "out-of-range": "clamp"
== release 1.0
"budget": 20, "groups": { "amp": { "kind": "block", "at": 6, "cost": 30 } },
"parameters": { "label": { "at": 0, "as": "text", "length": 4, "role": "name" }, "drive": { "at": 4, "range": [0, 50] },
                "tone": { "at": 5, "range": [0, 50], "rules": { "out-of-range": "refuse", "refuses": "dump" } }, "amp.air": { "at": 0 } }
== release 2.0
"extends": "1.0", "parameters": { "drive": { "range": [0, 100] }, "tone": { "range": [0, 100] } }
)",
                                        "check_dump_test");
    const compat::TargetCheck alone = checked(refusing, preset(0, "Ebb ", 70)).presets[0].targets[0];
    CHECK(alone.verdict == Verdict::altered);
    CHECK(alone.findings.size() == 1);
    CHECK(alone.risks.size() == 1);
    const DumpCheck check = checked(refusing, joined({preset(0, "Ebb ", 70), preset(1, "Flow", 0, 70)}));
    const compat::TargetCheck& taken = check.presets[0].targets[0];
    CHECK(taken.verdict == Verdict::refused);
    CHECK(taken.best == Verdict::refused);
    CHECK(taken.worst == Verdict::refused);
    CHECK(taken.reason == "the whole dump is refused for slot 2: it does not take the stored number of tone");
    CHECK(taken.findings.empty());
    CHECK(taken.causes.empty());
    CHECK(taken.cautions.empty());
    CHECK(taken.risks.empty());
    CHECK(taken.unsettled.empty());
}
