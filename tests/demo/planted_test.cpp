// Every finding of the Dunlin 6 demo against demo/planted.json, the truth that the generator computed from its own
// tables: none missed, none extra, every verdict the same.
#include <map>
#include <nlohmann/json.hpp>
#include <tuple>

#include "support/demo_files.h"
#include "support/catch.h"
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

}  // namespace

TEST_CASE("the check finds in the demo what was planted there, and nothing else") {
    const json planted = json::parse(read_text(project_folder() / "demo" / "planted.json"));
    const schema::Device device = load_device_folder("dunlin-6");
    compat::CheckOptions options;
    for (std::size_t i = 0; i < device.releases.size(); ++i) options.targets.push_back(i);
    const Bytes responses = demo_dump("impulse-responses.syx");
    const dump::Dump assets = read_demo_dump("impulse-responses.syx", responses, device);
    options.assets["impulse-response"] = filled_slots(assets);
    options.brought_by = false;
    compat::Checker checker(device, options);

    std::size_t compared = 0;
    int told = 0;
    for (const std::string bank : {"bank-a", "bank-b", "bank-c", "bank-d"}) {
        const Bytes bytes = demo_dump(bank + ".syx");
        const dump::Dump dump = read_demo_dump(bank + ".syx", bytes, device);
        for (const compat::PresetCheck& preset : compat::check_dump(checker, dump, bytes).presets) {
            if (preset.state == dump::SlotState::empty) continue;
            const std::string slot = std::to_string(preset.slot);
            for (const compat::TargetCheck& target : preset.targets) {
                const std::string release = device.releases[target.release].name;
                const json& special = planted["presets"][bank].value(slot, json::object()).value(release, json());
                const std::string pair = planted["slots"][bank]["saved-on"][slot].get<std::string>() + ">" + release;
                const std::string verdict = special.is_null()
                                                ? planted["usual-verdict"].value(pair, std::string("missing"))
                                                : special["verdict"].get<std::string>();
                ++compared;
                const bool refused = verdict == "refused";
                const std::string text =
                    refused ? std::string()
                            : difference(expected_findings(planted, pair, special), found_findings(target));
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
    CHECK(compared > 3000);
}
