// Fuzz target: policy files. The input is the text of one. Promised: a policy, or reasons with places; whatever it
// says, what will not load fails, nothing is accepted that weighs more or carries another caution than was accepted,
// and no tolerance takes a caution away; reports stay harmless.
#include "schema/policy.h"

#include <memory>
#include <set>

#include "compat/explore.h"
#include "compat/policy.h"
#include "fuzz/devices.h"
#include "fuzz/promises.h"
#include "fuzz/target.h"
#include "report/ruling.h"

namespace {

using namespace downfit;

constexpr std::size_t most_presets = 6;

/// What is known of a device before any policy comes: a report without one, and presets ready to be loaded.
class Known {
public:
    explicit Known(const schema::Device& device) : device_(device), dump_(fuzz::bases_of(device).front().dump) {
        dump_.entries.resize(std::min(dump_.entries.size(), most_presets));
        compat::CheckOptions options;
        options.others = true;
        options.brought_by = false;
        for (std::size_t release = 0; release < device.releases.size(); ++release) options.targets.push_back(release);
        compat::Checker checker(device, options);
        // Saved on the newest release, whatever the dump says: so that there is much to accept.
        for (dump::Entry& entry : dump_.entries) entry.stamp = device.releases.back().stamps.front();
        report =
            fuzz::report_on(dump_, compat::check_dump(checker, dump_, fuzz::bases_of(device).front().bytes), options);
        for (const report::PresetReport& preset : report.presets) presets.push_back(&preset.check);
        n_ = std::make_unique<compat::CompiledRelease>(device, *device.releases.back().schema);
        t_ = std::make_unique<compat::CompiledRelease>(device, *device.releases.front().schema);
        pair_ = std::make_unique<compat::ReleasePair>(*n_, *t_, device);
        usual_ = cautions({});
    }

    /// With these just-noticeable differences every caution stands that stands with the usual ones.
    void look_at(const compat::Hearing& hearing) const {
        const auto now = cautions(hearing);
        fuzz::require(std::includes(now.begin(), now.end(), usual_.begin(), usual_.end()),
                      "no tolerance takes a caution away");
    }

    report::CheckReport report;
    std::vector<const compat::PresetCheck*> presets;

private:
    using Where = std::tuple<std::size_t, std::size_t, std::size_t>;  // preset, run, link

    std::set<Where> cautions(const compat::Hearing& hearing) const {
        std::set<Where> carried;
        for (std::size_t preset = 0; preset < dump_.entries.size(); ++preset) {
            const dump::Entry& entry = dump_.entries[preset];
            const compat::Image image{entry.body, entry.layout, device_.releases.size() - 1, 1, {}, nullptr};
            const compat::Exploration exploration = compat::explore(*pair_, image, {}, hearing, {});
            for (std::size_t run = 0; run < exploration.runs.size(); ++run) {
                const auto& judgements = exploration.runs[run].judgements;
                for (std::size_t link = 0; link < judgements.size(); ++link) {
                    if (judgements[link].caution) carried.insert({preset, run, link});
                }
            }
        }
        return carried;
    }

    const schema::Device& device_;
    dump::Dump dump_;
    std::unique_ptr<compat::CompiledRelease> n_, t_;
    std::unique_ptr<compat::ReleasePair> pair_;
    std::set<Where> usual_;
};

/// Of Pipit where the policy is for it, else of Dunlin 6.
Known& known_for(const schema::Policy& policy) {
    static Known pipit(fuzz::device_of(1));
    static Known dunlin(fuzz::device_of(0));
    return policy.device == pipit.report.device->name ? pipit : dunlin;
}

void look_at_acceptance(const schema::Acceptance& acceptance, const compat::Finding& finding,
                        const std::set<compat::CautionKind>& cautions) {
    const auto weight = compat::find_weight(acceptance.weight);
    fuzz::require(weight && finding.weight <= *weight, "nothing is accepted that weighs more");
    for (const compat::CautionKind caution : cautions) {
        const auto& named = acceptance.cautions;
        fuzz::require(std::find(named.begin(), named.end(), compat::caution_key(caution)) != named.end(),
                      "nothing is accepted that carries a caution which was not");
    }
}

void look_at_ruling(const schema::Policy& policy, const std::vector<const compat::PresetCheck*>& presets,
                    const compat::Ruling& ruling) {
    fuzz::require(ruling.presets.size() == presets.size() && ruling.entries.size() == policy.accepted.size(),
                  "everything is ruled on");
    for (std::size_t i = 0; i < presets.size(); ++i) {
        for (std::size_t t = 0; t < presets[i]->targets.size(); ++t) {
            const compat::TargetCheck& check = presets[i]->targets[t];
            const compat::TargetRuling& one = ruling.presets[i].at(t);
            fuzz::require(one.fails || check.verdict != compat::Verdict::refused, "what will not load fails");
            const auto cautions = compat::cautions_by_finding(check);
            for (std::size_t f = 0; f < check.findings.size(); ++f) {
                if (!one.accepted[f]) continue;
                look_at_acceptance(policy.accepted.at(*one.accepted[f]), check.findings[f], cautions[f]);
            }
        }
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    auto read = schema::read_policy({"policy.json", std::string(data, data + size)});
    if (!read) {
        fuzz::look_at_problems(read.problems(), {"policy.json"});
        return 0;
    }
    const schema::Policy& policy = read.value();
    Known& known = known_for(policy);
    const Problems problems = schema::check_policy(policy, *known.report.device);
    if (!problems.empty()) fuzz::look_at_problems(problems, {"policy.json"});
    look_at_ruling(policy, known.presets,
                   compat::apply_policy(policy, *known.report.device, known.presets, "2026-03-02", size % 2 == 0));
    known.look_at(compat::hearing_of(policy.tolerances));
    report::rule(known.report, policy, "2026-03-02");
    fuzz::look_at_report(known.report, size);
    return 0;
}
