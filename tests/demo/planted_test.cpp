// Every finding of the demo devices against the truth that their generators computed from their own tables: none
// missed, none extra, every verdict the same.
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "support/catch.h"
#include "support/demo_files.h"
#include "support/file.h"
#include "support/paths.h"

using namespace downfit;
using namespace downfit::testing;
using nlohmann::json;

namespace {

using Findings = std::map<std::string, std::string>;  // parameter -> "outcome weight"

Findings expected_findings(const json& planted, const std::string& pair, const json& special) {
    Findings findings;
    const auto put = [&](const json& rows) {
        for (const json& row : rows) {
            findings[row[0].get<std::string>()] = row[1].get<std::string>() + " " + row[2].get<std::string>();
        }
    };
    if (planted["usual"].contains(pair)) put(planted["usual"][pair]);
    if (special.is_null()) return findings;
    for (const json& gone : special["not"]) findings.erase(gone.get<std::string>());
    put(special["differs"]);
    return findings;
}

Findings found_findings(const compat::TargetCheck& check) {
    Findings findings;
    for (const compat::Finding& finding : check.findings) {
        findings[finding.parameter] =
            std::string(compat::row_of(finding.outcome).name) + " " + std::string(compat::weight_name(finding.weight));
    }
    return findings;
}

std::string difference(const Findings& expected, const Findings& found) {
    std::string text;
    for (const auto& [parameter, what] : expected) {
        const auto at = found.find(parameter);
        if (at == found.end())
            text += "missed " + parameter + " " + what + "\n";
        else if (at->second != what)
            text += parameter + " should be " + what + ", is " + at->second + "\n";
    }
    for (const auto& [parameter, what] : found) {
        if (!expected.contains(parameter)) text += "extra " + parameter + " " + what + "\n";
    }
    return text;
}

/// One demo device and its truth.
struct Planted {
    std::string device;
    std::string truth;  ///< path in the project
    std::vector<std::string> banks;
    std::string assets;   ///< dump of impulse responses; empty for none
    std::string variant;  ///< of the unit; empty where the device has none
};

compat::CheckOptions options_for(const Planted& planted, const schema::Device& device) {
    compat::CheckOptions options;
    for (std::size_t i = 0; i < device.releases.size(); ++i) options.targets.push_back(i);
    options.brought_by = false;
    if (!planted.variant.empty()) options.facts["variant"] = planted.variant;
    if (planted.assets.empty()) return options;
    const Bytes bytes = demo_dump(planted.assets);
    options.assets["impulse-response"].slots = filled_slots(read_demo_dump(planted.assets, bytes, device));
    return options;
}

/// Compares all presets of all banks on all releases; returns how many pairs of preset and release there were.
std::size_t compare_planted(const Planted& planted) {
    const json truth = json::parse(read_text(project_folder() / planted.truth));
    const schema::Device device = load_device_folder(planted.device);
    compat::Checker checker(device, options_for(planted, device));
    std::size_t compared = 0;
    int told = 0;
    for (const std::string& bank : planted.banks) {
        const Bytes bytes = demo_dump(bank + ".syx");
        const dump::Dump dump = read_demo_dump(bank + ".syx", bytes, device);
        for (const compat::PresetCheck& preset : compat::check_dump(checker, dump, bytes).presets) {
            if (preset.state == dump::SlotState::empty) continue;
            const std::string slot = std::to_string(preset.slot);
            for (const compat::TargetCheck& target : preset.targets) {
                const std::string release = device.releases[target.release].name;
                const json presets = truth["presets"].value(bank, json::object());
                const json& special = presets.value(slot, json::object()).value(release, json());
                const std::string pair = truth["slots"][bank]["saved-on"][slot].get<std::string>() + ">" + release;
                const std::string verdict = special.is_null()
                                                ? truth["usual-verdict"].value(pair, std::string("missing"))
                                                : special["verdict"].get<std::string>();
                ++compared;
                const std::string text =
                    verdict == "refused" ? std::string()
                                         : difference(expected_findings(truth, pair, special), found_findings(target));
                if (text.empty() && compat::verdict_name(target.verdict) == verdict) continue;
                if (++told > 20) continue;
                INFO(bank << " slot " << slot << " " << preset.name << " " << pair << " " << target.reason << "\n"
                          << text);
                CHECK(compat::verdict_name(target.verdict) == verdict);
                CHECK(text.empty());
            }
        }
    }
    CHECK(told == 0);
    return compared;
}

}  // namespace

TEST_CASE("the check finds in one bank of the Dunlin 6 demo what was planted there, and nothing else") {
    CHECK(compare_planted({"dunlin-6", "demo/planted.json", {"bank-a"}, "impulse-responses.syx", {}}) > 700);
}

TEST_CASE("the check finds in the other banks of the Dunlin 6 demo what was planted there, and nothing else",
          "[heavy]") {
    CHECK(compare_planted(
              {"dunlin-6", "demo/planted.json", {"bank-b", "bank-c", "bank-d"}, "impulse-responses.syx", {}}) > 2300);
}

TEST_CASE("the check finds in the Pipit demo what was planted there, and nothing else") {
    CHECK(compare_planted({"pipit", "demo/pipit/planted.json", {"pipit-a", "pipit-b"}, {}, "pipit"}) == 480);
}

TEST_CASE("a smaller variant of the Pipit loses what its limits and its hardware do not take") {
    const json truth = json::parse(read_text(project_folder() / "demo/pipit/planted.json"));
    const schema::Device device = load_device_folder("pipit");
    const json& mini = truth["variants"]["pipit-mini"];
    compat::CheckOptions options;
    options.brought_by = false;
    options.facts["variant"] = "pipit-mini";
    for (const json& target : mini["targets"]) {
        options.targets.push_back(device.find_release(target.get<std::string>()).value());
    }
    compat::Checker checker(device, options);
    std::size_t differing = 0;
    for (const std::string bank : {"pipit-a", "pipit-b"}) {
        const Bytes bytes = demo_dump(bank + ".syx");
        const dump::Dump dump = read_demo_dump(bank + ".syx", bytes, device);
        const json presets = truth["presets"].value(bank, json::object());
        for (const compat::PresetCheck& preset : compat::check_dump(checker, dump, bytes).presets) {
            if (preset.state == dump::SlotState::empty) continue;
            const std::string slot = std::to_string(preset.slot);
            for (const compat::TargetCheck& target : preset.targets) {
                const std::string release = device.releases[target.release].name;
                const std::string pair = truth["slots"][bank]["saved-on"][slot].get<std::string>() + ">" + release;
                std::string verdict = truth["usual-verdict"].value(pair, std::string("missing"));
                const json special = presets.value(slot, json::object()).value(release, json());
                if (!special.is_null()) verdict = special["verdict"].get<std::string>();
                const json there = mini["verdicts"].value(bank, json::object()).value(slot, json::object());
                if (there.contains(release)) {
                    verdict = there[release].get<std::string>();
                    ++differing;
                }
                INFO(bank << " slot " << slot << " " << pair << " " << target.reason);
                CHECK(compat::verdict_name(target.verdict) == verdict);
            }
        }
    }
    CHECK(differing > 20);
}
