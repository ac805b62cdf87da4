#include "compat/taken_along.h"

#include <algorithm>

namespace downfit::compat {
namespace {

using schema::Refuses;

bool says_dump(const schema::Release& release) {
    const auto accepts = [](const schema::Accept& accept) { return accept.refuses == Refuses::dump; };
    const auto group = [](const schema::Group& one) { return one.version_refuses == Refuses::dump; };
    const auto parameter = [](const schema::Parameter& one) { return one.rules.refuses == Refuses::dump; };
    return release.rules.refuses == Refuses::dump || std::ranges::any_of(release.accepts, accepts) ||
           std::ranges::any_of(release.groups, group) || std::ranges::any_of(release.parameters, parameter);
}

}  // namespace

bool may_refuse_dumps(const schema::Device& device) {
    // What a refusal takes is the same in every layout.
    return std::ranges::any_of(
        device.releases, [](const schema::ReleaseEntry& entry) { return entry.schema && says_dump(*entry.schema); });
}

void TakenAlong::note(const PresetCheck& preset) {
    takers_.resize(std::max(takers_.size(), preset.targets.size()));
    for (std::size_t target = 0; target < preset.targets.size(); ++target) {
        const TargetCheck& check = preset.targets[target];
        if (!check.refuses_dump) continue;
        // One that does comes before one that may.
        const bool surely = check.verdict == Verdict::refused;
        std::optional<Taker>& taker = takers_[target];
        if (!taker || (surely && !taker->surely)) taker = Taker{surely, preset.slot, check.reason};
    }
}

void TakenAlong::apply(const Checker& checker, PresetCheck& preset) const {
    for (std::size_t target = 0; target < preset.targets.size(); ++target) {
        const std::optional<Taker>& taker = takers_[target];
        TargetCheck& check = preset.targets[target];
        // One that may take the dump may not have to: another surely does.
        if (!taker || check.verdict == Verdict::refused || (check.refuses_dump && !taker->surely)) continue;
        take(*taker, check);
        checker.add_floors(preset);
    }
}

void TakenAlong::take(const Taker& taker, TargetCheck& check) {
    check.worst = Verdict::refused;
    check.verdict = taker.surely ? Verdict::refused : Verdict::undecided;
    check.reason = std::string(taker.surely ? "the whole dump is refused" : "the whole dump may be refused") +
                   " for slot " + std::to_string(taker.slot) + ": " + taker.reason;
    if (!taker.surely) return;
    check.best = Verdict::refused;
    check.findings.clear();
    check.causes.clear();
    check.cautions.clear();
    check.risks.clear();
    check.unsettled.clear();
}

}  // namespace downfit::compat
