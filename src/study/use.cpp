#include "study/use.h"

#include <algorithm>
#include <map>
#include <memory>

#include "schema/ids.h"
#include "study/attribute.h"
#include "study/changes.h"

namespace downfit::study {

namespace {

/// The changes between two releases, with the number that each has among those that are told.
struct Between {
    std::vector<Change> changes;
    std::vector<std::optional<std::size_t>> told;
    std::unique_ptr<Attribution> attribution;
};

class Counter {
public:
    Counter(const schema::Device& device, std::size_t older, std::size_t newer, const std::vector<Change>& changes)
        : device_(device), older_(older), newer_(newer), changes_(changes) {
        for (std::size_t i = 0; i < changes.size(); ++i) by_key_.emplace(changes[i].key, i);
    }

    Use count(const std::vector<UsedDump>& dumps, compat::CheckOptions options, const compat::Watch& watch) {
        Use use;
        std::size_t before = 0, all = 0;
        for (const UsedDump& dump : dumps) all += dump.dump->entries.size();
        use.back.target = older_;
        use.forward.target = newer_;
        use.back.changes.resize(changes_.size());
        use.forward.changes.resize(changes_.size());
        options.brought_by = false;
        options.floors = false;
        options.targets = {older_, newer_};
        compat::Checker checker(device_, options);
        for (std::size_t file = 0; file < dumps.size(); ++file) {
            const compat::DumpCheck checked =
                compat::check_dump(checker, *dumps[file].dump, dumps[file].bytes, [&](std::size_t done, std::size_t) {
                    if (watch) watch(before + done, all);
                });
            before += dumps[file].dump->entries.size();
            for (const compat::PresetCheck& preset : checked.presets) {
                if (preset.state == dump::SlotState::empty) continue;
                const bool back = goes_back(preset), forward = goes_forward(preset);
                if (back) add(use.back, file, preset, preset.targets.front());
                if (forward) add(use.forward, file, preset, preset.targets.back());
                if (back || forward) continue;
                ++(preset.state == dump::SlotState::damaged ? use.damaged : use.outside);
            }
        }
        return use;
    }

private:
    [[nodiscard]] bool goes_back(const compat::PresetCheck& preset) const {
        return !preset.saved_on.empty() && preset.saved_on.back() > older_ && preset.saved_on.back() <= newer_;
    }
    [[nodiscard]] bool goes_forward(const compat::PresetCheck& preset) const {
        return !preset.saved_on.empty() && preset.saved_on.front() >= older_ && preset.saved_on.front() < newer_;
    }

    /// The number of the change as it is told between the two ends. What came later into a group that is new there, or
    /// earlier into one that is gone there, is told with the group.
    [[nodiscard]] std::optional<std::size_t> told_as(const Change& change) const {
        if (const auto at = by_key_.find(change.key); at != by_key_.end()) return at->second;
        for (std::size_t i = 0; i < changes_.size(); ++i) {
            const Change& whole = changes_[i];
            const bool group = whole.kind == ChangeKind::group_added || whole.kind == ChangeKind::group_removed;
            if (group && (change.subject == whole.subject || change.subject.starts_with(whole.subject + '.'))) return i;
        }
        return std::nullopt;
    }

    const Between& between(std::size_t saved, std::size_t loading) {
        Between& between = between_[{saved, loading}];
        if (between.attribution) return between;
        between.changes = compare_releases(device_, std::min(saved, loading), std::max(saved, loading));
        for (const Change& change : between.changes) between.told.push_back(told_as(change));
        between.attribution = std::make_unique<Attribution>(device_, saved, loading, between.changes);
        return between;
    }

    void add(WayUse& way, std::size_t file, const compat::PresetCheck& preset, const compat::TargetCheck& target) {
        const std::size_t saved = target.saved_on.value_or(preset.saved_on.back());
        const std::size_t index = way.presets.size();
        way.presets.push_back({file, preset.slot, preset.name, device_.releases[saved].name, target.verdict,
                               preset.state == dump::SlotState::damaged});
        way.findings += target.findings.size();
        std::map<std::size_t, compat::Weight> heaviest;
        std::map<std::pair<std::string, compat::Outcome>, bool> others;
        for (std::size_t i = 0; i < target.findings.size(); ++i) {
            const compat::Finding& finding = target.findings[i];
            bool told = false;
            const bool same = saved == target.release || !device_.releases[saved].schema;
            const Between* parts = same ? nullptr : &between(saved, target.release);
            const std::vector<std::size_t> from =
                parts ? parts->attribution->of(target, i) : std::vector<std::size_t>();
            for (const std::size_t change : from) {
                const auto number = parts->told[change];
                if (!number) continue;
                told = true;
                ++way.changes[*number].findings;
                compat::Weight& weight = heaviest.try_emplace(*number, finding.weight).first->second;
                weight = std::max(weight, finding.weight);
            }
            if (told) {
                ++way.put_down;
            } else {
                others[{plain(finding.parameter), finding.outcome}] = true;
            }
        }
        if (target.verdict == compat::Verdict::refused) put_down_refusal(saved, target, heaviest);
        for (const auto& [number, weight] : heaviest) {
            (weight > compat::Weight::none ? way.changes[number].presets : way.changes[number].without)
                .push_back(index);
            if (weight >= compat::Weight::audible) way.changes[number].audible.push_back(index);
        }
        for (const auto& [key, yes] : others) count_other(way, key.first, key.second);
    }

    /// A refusal has no findings: it comes from whatever refuses whole presets.
    void put_down_refusal(std::size_t saved, const compat::TargetCheck& target,
                          std::map<std::size_t, compat::Weight>& heaviest) {
        if (saved == target.release || !device_.releases[saved].schema) return;
        const Between& parts = between(saved, target.release);
        for (std::size_t i = 0; i < parts.changes.size(); ++i) {
            const Change& change = parts.changes[i];
            const bool refuses = (saved > target.release ? change.back : change.forward).effect == Effect::refused;
            if (refuses && parts.told[i] && touches_presets(change.kind))
                heaviest.insert_or_assign(*parts.told[i], compat::Weight::severe);
        }
    }

    static void count_other(WayUse& way, const std::string& parameter, compat::Outcome outcome) {
        const auto at = std::find_if(way.others.begin(), way.others.end(), [&](const Unexplained& one) {
            return one.parameter == parameter && one.outcome == outcome;
        });
        if (at != way.others.end())
            ++at->presets;
        else
            way.others.push_back({parameter, outcome, 1});
    }

    static std::string plain(const std::string& id) {
        const auto steps = schema::parse_id(id, true);
        return steps ? schema::plain_id(*steps) : id;
    }

    const schema::Device& device_;
    std::size_t older_, newer_;
    const std::vector<Change>& changes_;
    std::map<std::string, std::size_t> by_key_;
    std::map<std::pair<std::size_t, std::size_t>, Between> between_;
};

}  // namespace

std::size_t WayUse::of(compat::Verdict verdict) const {
    return static_cast<std::size_t>(std::count_if(presets.begin(), presets.end(), [&](const UsedPreset& preset) {
        return !preset.damaged && preset.verdict == verdict;
    }));
}

std::size_t WayUse::refused_but(const std::set<std::size_t>& apart) const {
    std::size_t count = 0;
    for (std::size_t i = 0; i < presets.size(); ++i) {
        if (presets[i].verdict == compat::Verdict::refused && !apart.contains(i)) ++count;
    }
    return count;
}

std::size_t WayUse::damaged() const {
    return static_cast<std::size_t>(
        std::count_if(presets.begin(), presets.end(), [](const UsedPreset& preset) { return preset.damaged; }));
}

Use use_of(const schema::Device& device, std::size_t older, std::size_t newer, const std::vector<Change>& changes,
           const std::vector<UsedDump>& dumps, compat::CheckOptions options, const compat::Watch& watch) {
    return Counter(device, older, newer, changes).count(dumps, std::move(options), watch);
}

}  // namespace downfit::study
