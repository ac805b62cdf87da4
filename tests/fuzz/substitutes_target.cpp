// Fuzz target: substitutes files. The input is the text of one. Promised: substitutes, or reasons with places; of those
// that fit the device, whatever they put, no preset is worse off with them than left alone, and refitting what was
// written changes nothing.
#include "schema/substitutes.h"

#include "fuzz/devices.h"
#include "fuzz/promises.h"
#include "fuzz/target.h"
#include "refit/refit.h"

namespace {

using namespace downfit;

const schema::Device& device_for(const schema::Substitutes& substitutes) {
    for (const schema::Device& device : fuzz::devices()) {
        if (device.name == substitutes.device) return device;
    }
    return fuzz::device_of(0);
}

/// The one of the device's small dumps that is refitted soonest.
const fuzz::Base& base_of(const schema::Device& device) {
    const auto& bases = fuzz::bases_of(device);
    return *std::min_element(bases.begin(), bases.end(), [](const auto& a, const auto& b) {
        return a.dump.entries.size() < b.dump.entries.size();
    });
}

void look_at(const fuzz::Base& base, const refit::RefitOptions& options) {
    const auto refitted = refit::refit(base.dump, base.bytes, options);
    if (!refitted) return fuzz::look_at_problems(refitted.problems(), {});
    const refit::RefitResult& result = refitted.value();
    for (std::size_t i = 0; i < result.presets.size(); ++i) {
        if (result.check.presets[i].targets.empty()) continue;
        const compat::Verdict now = result.check.presets[i].targets.front().verdict;
        fuzz::require(now <= result.presets[i].before, "no preset is worse off than left alone");
        for (const refit::Note& note : result.presets[i].notes)
            fuzz::require(note.kind != refit::Note::Kind::substituted || note.substitute < options.substitutes.size(),
                          "what was put is one of the substitutes");
    }
    const auto back = dump::read(base.dump.file, result.bytes, *base.dump.device);
    fuzz::require(back.ok(), "what was written can be read");
    const auto again = refit::refit(back.value(), result.bytes, options);
    fuzz::require(again.ok() && again.value().bytes == result.bytes, "refitting twice changes nothing");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto read = schema::read_substitutes({"substitutes.json", std::string(data, data + size)});
    if (!read) {
        fuzz::look_at_problems(read.problems(), {"substitutes.json"});
        return 0;
    }
    const schema::Substitutes& substitutes = read.value();
    const schema::Device& device = device_for(substitutes);
    const std::size_t target = size % device.releases.size();
    const Problems problems = schema::check_substitutes(substitutes, device, target);
    if (!problems.empty()) {
        fuzz::look_at_problems(problems, {"substitutes.json"});
        return 0;
    }
    refit::RefitOptions options;
    options.check.targets = {target};
    options.check.brought_by = false;
    for (const schema::Substitution& entry : substitutes.list) {
        if (entry.holds_on(device.releases[target].name))
            options.substitutes.push_back({entry.parameter, entry.lost, entry.instead});
    }
    look_at(base_of(device), options);
    return 0;
}
