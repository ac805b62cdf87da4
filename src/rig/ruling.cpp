#include "rig/ruling.h"

#include <algorithm>
#include <array>
#include <utility>

namespace downfit::rig {

namespace {

constexpr std::array<std::string_view, ruled_count> ruled_names{"within", "assets-lacking", "undecided", "failing"};

/// Whether an acceptance may mean something on a unit, going by device and release alone.
bool may_mean(const schema::Policy& policy, const schema::Acceptance& entry, const schema::RigUnit& unit) {
    if (!policy.device.empty() && policy.device != unit.device) return false;
    return entry.on.empty() || std::ranges::any_of(entry.on, [&](const schema::NamedRelease& release) {
               return release.name == unit.release;
           });
}

}  // namespace

std::string_view ruled_name(Ruled ruled) {
    return ruled_names[static_cast<std::size_t>(ruled)];
}

Rulings::Rulings(const schema::Policy* policy, std::string today)
    : policy_(policy != nullptr ? policy : &usual_),
      today_(std::move(today)),
      entries_(policy_->accepted.size()),
      met_(policy_->accepted.size()) {
    for (std::size_t i = 0; i < entries_.size(); ++i)
        entries_[i].ended = !policy_->accepted[i].until.empty() && policy_->accepted[i].until < today_;
}

const schema::Policy& Rulings::policy_for(const schema::Device& device) const {
    return policy_->device.empty() || policy_->device == device.name ? *policy_ : usual_;
}

compat::Ruling Rulings::apply(const schema::Device& device, const compat::PresetCheck& check) const {
    return compat::apply_policy(policy_for(device), device, {&check}, today_, false);
}

compat::TargetRuling Rulings::rule(const schema::Device& device, const compat::PresetCheck& check, std::size_t preset,
                                   std::size_t unit) {
    compat::Ruling ruling = apply(device, check);
    for (std::size_t i = 0; i < ruling.entries.size(); ++i) {
        compat::EntryRuling& entry = ruling.entries[i];
        met_[i] = met_[i] || entry.findings > 0 || !entry.lapses.empty();
        entries_[i].findings += entry.findings;
        for (compat::Lapse& lapse : entry.lapses) entries_[i].lapses.push_back({unit, preset, std::move(lapse)});
    }
    return std::move(ruling.presets.front().front());
}

void Rulings::note(const schema::Device& device, const compat::PresetCheck& check) {
    const compat::Ruling ruling = apply(device, check);
    for (std::size_t i = 0; i < ruling.entries.size(); ++i)
        met_[i] = met_[i] || ruling.entries[i].findings > 0 || !ruling.entries[i].lapses.empty();
}

std::vector<EntryRuling> Rulings::finish(const std::vector<schema::RigUnit>& units) && {
    for (std::size_t i = 0; i < entries_.size(); ++i) {
        entries_[i].stale = !met_[i] && std::ranges::any_of(units, [&](const schema::RigUnit& unit) {
            return may_mean(*policy_, policy_->accepted[i], unit);
        });
    }
    return std::move(entries_);
}

}  // namespace downfit::rig
