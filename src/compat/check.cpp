#include "compat/check.h"

#include <algorithm>
#include <limits>

#include "compat/explore.h"
#include "compat/findings.h"
#include "compat/show.h"
#include "dump/tree.h"

namespace downfit::compat {
namespace {

Verdict verdict_of(Weight weight) {
    if (weight == Weight::none) return Verdict::intact;
    return weight == Weight::slight ? Verdict::near : Verdict::altered;
}

void decide(TargetCheck& check, Verdict verdict, std::string reason = {}) {
    check.verdict = check.best = check.worst = verdict;
    check.reason = std::move(reason);
    if (verdict == Verdict::undecided) {
        check.best = Verdict::intact;
        check.worst = Verdict::refused;
    }
}

std::string rules_text(const AskedRules& asked) {
    std::string text;
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (!asked.test(rule)) continue;
        if (!text.empty()) text += ", ";
        text += schema::rule_table[rule].name;
    }
    return text;
}

/// Verdict, best and worst over all runs.
void judge_preset(const ReleasePair& pair, const Exploration& exploration, TargetCheck& check) {
    Verdict best = Verdict::refused;
    Verdict worst = Verdict::intact;
    bool any_judged = false;
    std::string refusal;
    for (const Run& run : exploration.runs) {
        if (run.saved.refused) {
            return decide(check, Verdict::undecided,
                          pair.saved().release().name + " itself would refuse it: " + run.saved.refusal);
        }
        if (run.loading.refused) {
            worst = Verdict::refused;
            refusal = run.loading.refusal;
            continue;
        }
        any_judged = true;
        best = std::min(best, verdict_of(run.best()));
        worst = std::max(worst, verdict_of(run.worst()));
    }
    if (any_judged) collect_findings(pair, exploration, check);
    check.best = best;
    check.worst = worst;
    if (!exploration.complete) {
        check.verdict = Verdict::undecided;
        check.reason = "too many unstated rules to try them all: " + rules_text(exploration.asked);
    } else if (best == worst) {
        check.verdict = worst;
        check.reason = refusal;
    } else {
        check.verdict = Verdict::undecided;
        check.reason = exploration.asked.any() ? "no rule is stated for: " + rules_text(exploration.asked)
                                               : "the schema or the set of dumps does not say enough";
    }
    if (check.verdict != Verdict::undecided) return;
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (exploration.asked.test(rule)) check.unsettled.push_back(schema::rule_table[rule].rule);
    }
}

/// Whether `a` is to be told rather than `b`, both for the same preset on the same target.
bool worse(const TargetCheck& a, const TargetCheck& b) {
    if (a.verdict != b.verdict) return a.verdict > b.verdict;
    const auto heaviest = [](const TargetCheck& check) {
        Weight weight = Weight::none;
        for (const Finding& finding : check.findings) weight = std::max(weight, finding.weight);
        return weight;
    };
    return heaviest(a) > heaviest(b);
}

Floor floor_of(const PresetCheck& preset, Verdict at_most) {
    Floor floor;
    if (preset.saved_on.empty()) return floor;
    const std::size_t from = preset.saved_on.front();
    std::map<std::size_t, Verdict> verdicts;
    for (const TargetCheck& target : preset.targets) {
        if (target.release <= from) verdicts[target.release] = target.verdict;
    }
    bool unbroken = true;
    std::size_t next = from;
    for (auto at = verdicts.rbegin(); at != verdicts.rend(); ++at) {
        const bool qualifies = at->second <= at_most;
        unbroken = unbroken && at->first == next;
        if (unbroken && qualifies) {
            floor.oldest = at->first;
        } else {
            unbroken = false;
            if (qualifies) floor.islands.push_back(at->first);
        }
        next = at->first - 1;
    }
    return floor;
}

}  // namespace

Checker::Checker(const schema::Device& device, CheckOptions options)
    : device_(device), options_(std::move(options)), compiled_(device.releases.size()) {}

Checker::~Checker() = default;

const CompiledRelease* Checker::compiled(std::size_t release) {
    if (!device_.releases[release].schema) return nullptr;
    auto& slot = compiled_[release];
    if (!slot) slot = std::make_unique<CompiledRelease>(device_, *device_.releases[release].schema);
    return slot.get();
}

const ReleasePair& Checker::pair(std::size_t saved, std::size_t loading) {
    auto& slot = pairs_[{saved, loading}];
    if (!slot) slot = std::make_unique<ReleasePair>(*compiled(saved), *compiled(loading), device_);
    return *slot;
}

PresetCheck Checker::check(const dump::Entry& entry) {
    PresetCheck preset;
    preset.slot = dump::shown_slot(device_, entry);
    preset.state = entry.state;
    if (entry.stamp) {
        preset.stamp = stamp_text(*entry.stamp);
        preset.saved_on = device_.releases_with(*entry.stamp);
    } else if (options_.saved_on) {
        preset.saved_on = {*options_.saved_on};
    }
    for (auto release = preset.saved_on.rbegin(); release != preset.saved_on.rend(); ++release) {
        const CompiledRelease* saved = compiled(*release);
        if (saved == nullptr || entry.body.empty()) continue;
        preset.name = dump::preset_name(saved->instances(), entry.body);
        preset.unexplained =
            dump::unexplained_bytes(saved->instances(), entry.layout, entry.body.size(), &device_).size();
        break;
    }
    if (entry.state != dump::SlotState::empty) check_targets(entry, preset);
    if (options_.floors) {
        preset.intact = floor_of(preset, Verdict::intact);
        preset.near = floor_of(preset, Verdict::near);
    }
    return preset;
}

void Checker::check_targets(const dump::Entry& entry, PresetCheck& preset) {
    for (const std::size_t target : options_.targets) {
        TargetCheck check = check_candidates(entry, preset, target);
        check.stamped_later = !preset.saved_on.empty() && preset.saved_on.front() > target;
        preset.targets.push_back(std::move(check));
    }
}

TargetCheck Checker::check_candidates(const dump::Entry& entry, const PresetCheck& preset, std::size_t target) {
    TargetCheck told;
    told.release = target;
    if (entry.state == dump::SlotState::damaged) {
        decide(told, Verdict::undecided,
               "damaged: " + (entry.damage.empty() ? std::string("unreadable") : entry.damage.front().what));
        return told;
    }
    if (preset.saved_on.empty()) {
        decide(told, Verdict::undecided,
               preset.stamp.empty() ? "it carries no stamp: say which release saved it (--saved-on)"
                                    : "no release of the device stamps presets with " + preset.stamp);
        return told;
    }
    if (compiled(target) == nullptr) {
        decide(told, Verdict::undecided, "no release file for " + device_.releases[target].name);
        return told;
    }
    bool first = true;
    for (auto saved = preset.saved_on.rbegin(); saved != preset.saved_on.rend(); ++saved) {
        TargetCheck check;
        check.release = target;
        check.saved_on = *saved;
        if (compiled(*saved) == nullptr) {
            decide(check, Verdict::undecided,
                   "no release file for " + device_.releases[*saved].name + ", which saved it");
        } else if (compiled(target)->release().layouts[entry.layout].framing != entry.framing) {
            decide(check, Verdict::refused, "it frames its dumps in another way and would not recognise this one");
        } else {
            const Image image{entry.body, entry.layout, *saved, preset.slot};
            const ReleasePair& both = pair(*saved, target);
            judge_preset(both, explore(both, device_, image, options_.facts, options_.hearing, options_.assets), check);
            if (options_.brought_by) find_brought_by(image, *saved, check);
        }
        if (first || worse(check, told)) told = std::move(check);
        first = false;
    }
    return told;
}

void Checker::find_brought_by(const Image& image, std::size_t saved, TargetCheck& check) {
    const auto waiting = [](const Finding& finding) {
        return finding.weight > Weight::none && finding.brought_by.empty();
    };
    std::size_t open = static_cast<std::size_t>(std::count_if(check.findings.begin(), check.findings.end(), waiting));
    const std::size_t target = compiled(check.release) == nullptr ? 0 : check.release;
    for (std::size_t release = target + 1; release < device_.releases.size() && open > 0; ++release) {
        if (compiled(release) == nullptr) continue;
        TargetCheck there;
        const ReleasePair& both = pair(saved, release);
        judge_preset(both, explore(both, device_, image, options_.facts, options_.hearing, options_.assets), there);
        if (there.verdict == Verdict::refused) continue;
        for (Finding& finding : check.findings) {
            if (!waiting(finding)) continue;
            const bool still = std::any_of(there.findings.begin(), there.findings.end(), [&](const Finding& other) {
                return (other.parameter == finding.parameter || other.parameter_there == finding.parameter) &&
                       other.weight > Weight::none;
            });
            if (still) continue;
            finding.brought_by = device_.releases[release].name;
            --open;
        }
    }
}

}  // namespace downfit::compat
