#include "compat/check.h"

#include <algorithm>
#include <limits>

#include "base/text.h"
#include "compat/explore.h"
#include "compat/findings.h"
#include "compat/heaviest.h"
#include "compat/saved_on.h"
#include "compat/show.h"
#include "dump/tree.h"

namespace downfit::compat {
namespace {

void decide(TargetCheck& check, Verdict verdict, std::string reason = {}) {
    check.verdict = check.best = check.worst = verdict;
    check.reason = std::move(reason);
    if (verdict == Verdict::undecided) {
        check.best = Verdict::intact;
        check.worst = Verdict::refused;
    }
}

bool worse(const TargetCheck& a, const TargetCheck& b);
void keep_worse(TargetCheck& told, TargetCheck check, bool first, bool keep_other);

std::string rules_text(const AskedRules& asked) {
    std::string text;
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (!asked.test(rule)) continue;
        if (!text.empty()) text += ", ";
        text += schema::rule_table[rule].name;
    }
    return text;
}

/// Verdict, best and worst over runs that differ only in what unstated rules do.
void judge_runs(const ReleasePair& pair, const Exploration& exploration, TargetCheck& check) {
    Verdict best = Verdict::refused;
    Verdict worst = Verdict::intact;
    bool any_judged = false;
    bool any_taken = false;
    std::string refusal, own_refusal;
    for (const Run& run : exploration.runs) {
        if (run.saved.refused) {
            own_refusal = pair.saved().release().name + " itself would refuse it: " + run.saved.refusal;
            // What was meant then, nobody knows: anything may be.
            best = Verdict::intact;
            worst = Verdict::refused;
            continue;
        }
        if (run.loading.refused) {
            worst = Verdict::refused;
            refusal = run.loading.refusal;
            check.refuses_dump = check.refuses_dump || run.loading.refused == schema::Refuses::dump;
            continue;
        }
        any_taken = true;
        if (!run.judged()) continue;
        any_judged = true;
        best = std::min(best, verdict_of(run.best()));
        worst = std::max(worst, verdict_of(run.worst()));
    }
    if (any_taken && !any_judged)
        return decide(check, Verdict::undecided, "the schema describes no parameter of presets");
    if (!any_judged && !own_refusal.empty()) return decide(check, Verdict::undecided, own_refusal);
    if (any_judged) collect_findings(pair, exploration, check);
    check.best = best;
    check.worst = worst;
    check.all_tried = exploration.complete;
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

/// What may go wrong beyond single parameters.
void add_risks(const ReleasePair& pair, const Run& run, TargetCheck& check) {
    const schema::Release& release = pair.loading().release();
    const schema::Variant* variant = variant_of(release, variant_among(run.assumptions.facts));
    for (const std::string& group : run.limited) {
        check.risks.push_back("the unit cannot run " + group + " beside the blocks before it");
    }
    const std::optional<double> budget = variant != nullptr && variant->budget ? variant->budget : release.budget;
    if (budget && run.cost > *budget) {
        check.risks.push_back("its blocks need " + number_text(run.cost) + " of a processing budget of " +
                              number_text(*budget));
    }
    if (run.loading.skipped_records > 0) {
        const bool one = run.loading.skipped_records == 1;
        check.risks.push_back(std::to_string(run.loading.skipped_records) + (one ? " record is" : " records are") +
                              " unknown there and skipped");
    }
    if (run.loading.skipped_values > 0) {
        const bool one = run.loading.skipped_values == 1;
        check.risks.push_back(std::to_string(run.loading.skipped_values) + (one ? " value is" : " values are") +
                              " unknown there and skipped");
    }
}

std::string facts_text(const std::map<std::string, std::string>& facts,
                       const std::map<std::string, std::string>& given) {
    std::string text;
    for (const auto& [fact, setting] : facts) {
        if (given.contains(fact) || (setting.empty() && fact != "variant")) continue;
        if (!text.empty()) text += ", ";
        text.append(fact).append(" ").append(setting);
    }
    return text;
}

/// The hardware of a variant may not take the release at all.
bool hardware_refuses(const schema::Device& device, const schema::Release& release, const std::string& name,
                      TargetCheck& check) {
    const schema::Variant* variant = variant_of(release, name);
    if (variant == nullptr || variant->oldest_release.empty()) return false;
    const auto oldest = device.find_release(variant->oldest_release);
    if (!oldest || release.order >= *oldest) return false;
    decide(check, Verdict::refused,
           "the hardware of " + variant->name + " takes no release before " + variant->oldest_release);
    return true;
}

/// Judges the runs for each combination of unknown facts apart, and tells the worst.
void judge_preset(const ReleasePair& pair, Exploration exploration, const CheckOptions& options, TargetCheck& check) {
    const auto by_facts = split_by_facts(std::move(exploration));
    const TargetCheck start = check;
    bool first = true;
    for (const auto& [facts, part] : by_facts) {
        TargetCheck one = start;
        const auto variant = facts.find("variant");
        if (variant == facts.end() ||
            !hardware_refuses(pair.loading().device(), pair.loading().release(), variant->second, one)) {
            judge_runs(pair, part, one);
            add_risks(pair, part.runs.front(), one);
        }
        if (by_facts.size() > 1) one.told_for = facts_text(facts, options.facts);
        keep_worse(check, std::move(one), first, options.others);
        first = false;
    }
}

/// Whether `a` is to be told rather than `b`, both for the same preset on the same target.
bool worse(const TargetCheck& a, const TargetCheck& b) {
    if (a.verdict != b.verdict) return a.verdict > b.verdict;
    if (heaviest(a) != heaviest(b)) return heaviest(a) > heaviest(b);
    // What weighs the same may still hide a warning.
    if (a.cautions.size() != b.cautions.size()) return a.cautions.size() > b.cautions.size();
    return a.risks.size() > b.risks.size();
}

/// A caution of anything that a preset may be is a caution.
void add_cautions(const std::vector<Caution>& cautions, TargetCheck& told) {
    for (const Caution& caution : cautions) {
        const auto known = std::find_if(told.cautions.begin(), told.cautions.end(), [&](const Caution& other) {
            return other.kind == caution.kind && other.parameter == caution.parameter;
        });
        if (known == told.cautions.end()) {
            told.cautions.push_back(caution);
        } else {
            known->rise_db = std::max(known->rise_db, caution.rise_db);
        }
    }
}

/// Tells the worse of what was told so far and one more that the preset may be.
void keep_worse(TargetCheck& told, TargetCheck check, bool first, bool keep_other) {
    if (first) {
        told = std::move(check);
        return;
    }
    if (worse(check, told)) std::swap(told, check);
    told.refuses_dump = told.refuses_dump || check.refuses_dump;
    add_cautions(check.cautions, told);
    if (!keep_other) return;
    std::move(check.others.begin(), check.others.end(), std::back_inserter(told.others));
    check.others.clear();
    told.others.push_back(std::move(check));
}

/// The stamps that the releases give, each with its release: as many as are read at a glance.
std::string known_stamps(const schema::Device& device) {
    constexpr std::size_t most = 8;
    std::string text;
    std::size_t count = 0;
    const auto add = [&](const std::string& stamp, const std::string& release) {
        if (++count <= most) text += (count > 1 ? ", " : "") + stamp + " (" + release + ')';
    };
    for (const schema::ReleaseEntry& release : device.releases) {
        for (const schema::Stamp& stamp : release.stamps) {
            const bool first = release.stamp_from && stamp == schema::Stamp(*release.stamp_from);
            add((first ? "from " : "") + stamp_text(stamp), release.name);
        }
    }
    return count > most ? text + " and " + std::to_string(count - most) + " more" : text;
}

std::string unknown_stamp(const schema::Device& device, const schema::Stamp& stamp) {
    std::string text = "no release of the device stamps presets with " + stamp_text(stamp);
    if (const auto* number = std::get_if<std::int64_t>(&stamp))
        text += " (" + hex_text(static_cast<std::uint64_t>(*number)) + " hex)";
    const std::string known = known_stamps(device);
    return known.empty() ? text : text + "; known are " + known;
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

Checker::Checker(const schema::Device& device, CheckOptions options) : device_(device), options_(std::move(options)) {}

Checker::~Checker() = default;

const CompiledRelease* Checker::compiled(std::size_t release, std::size_t layout) {
    if (!device_.releases[release].schema) return nullptr;
    const schema::Release& stored = device_.releases[release].schema->in_layout(layout);
    auto& slot = compiled_[&stored];
    if (!slot) slot = std::make_unique<CompiledRelease>(device_, stored);
    return slot.get();
}

const ReleasePair& Checker::pair(std::size_t saved, std::size_t loading, std::size_t layout, bool rewritten) {
    const CompiledRelease* from = compiled(saved, layout);
    const CompiledRelease* to = compiled(loading, layout);
    auto& slot = pairs_[{from, to, rewritten}];
    if (!slot) slot = std::make_unique<ReleasePair>(*from, *to, device_, rewritten);
    return *slot;
}

PresetCheck Checker::check(const dump::Entry& entry, dump::NamedBody* named) {
    PresetCheck preset = describe(entry, named);
    if (entry.state != dump::SlotState::empty) check_targets(entry, named, preset);
    add_floors(preset);
    return preset;
}

PresetCheck Checker::check_rewritten(const dump::Entry& entry, dump::NamedBody* named, const dump::Entry& written,
                                     dump::NamedBody* written_named, std::size_t target) {
    PresetCheck preset = describe(entry, named);
    if (entry.state == dump::SlotState::empty) return preset;
    preset.targets.push_back(check_candidates(entry, named, preset, target, {&written, written_named}));
    return preset;
}

PresetCheck Checker::describe(const dump::Entry& entry, dump::NamedBody* named) {
    PresetCheck preset;
    preset.slot = dump::shown_slot(device_, entry);
    preset.state = entry.state;
    if (entry.stamp) preset.stamp = stamp_text(*entry.stamp);
    preset.saved_on = releases_that_saved(device_, entry, options_.saved_on);
    for (auto release = preset.saved_on.rbegin(); release != preset.saved_on.rend(); ++release) {
        const CompiledRelease* saved = compiled(*release, entry.layout);
        if (saved == nullptr || entry.body.empty()) continue;
        preset.name = dump::preset_name(saved->instances(), entry.body, entry.layout, named);
        if (preset.name.empty() && named) preset.name = dump::named_name(device_.framings[entry.framing], *named);
        preset.unexplained =
            dump::unexplained_bytes(saved->instances(), entry.layout, ByteView(entry.body), &device_, named).size();
        break;
    }
    return preset;
}

void Checker::add_floors(PresetCheck& preset) const {
    if (!options_.floors) return;
    preset.intact = floor_of(preset, Verdict::intact);
    preset.near = floor_of(preset, Verdict::near);
}

void Checker::check_targets(const dump::Entry& entry, dump::NamedBody* named, PresetCheck& preset) {
    for (const std::size_t target : options_.targets) {
        TargetCheck check = check_candidates(entry, named, preset, target, {});
        check.stamped_later = !preset.saved_on.empty() && preset.saved_on.front() > target;
        preset.targets.push_back(std::move(check));
    }
}

TargetCheck Checker::check_candidates(const dump::Entry& entry, dump::NamedBody* named, const PresetCheck& preset,
                                      std::size_t target, const Rewritten& rewritten) {
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
                                    : unknown_stamp(device_, *entry.stamp));
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
            const Image image{entry.body, entry.layout, *saved, preset.slot, options_.settings, named, nullptr};
            const ReleasePair& both = pair(*saved, target, entry.layout, rewritten.entry != nullptr);
            const Image loading =
                rewritten.entry == nullptr ? image : Image{rewritten.entry->body, entry.layout,    target, preset.slot,
                                                           options_.settings,     rewritten.named, nullptr};
            judge_preset(both, explore(both, image, loading, options_.facts, options_.hearing, options_.assets),
                         options_, check);
            if (options_.brought_by) find_brought_by(image, *saved, check);
        }
        keep_worse(told, std::move(check), first, options_.others);
        first = false;
    }
    return told;
}

void Checker::find_brought_by(const Image& image, std::size_t saved, TargetCheck& check) {
    const auto waiting = [](const Finding& finding) {
        return finding.weight > Weight::none && finding.brought_by.empty();
    };
    std::size_t open = static_cast<std::size_t>(std::count_if(check.findings.begin(), check.findings.end(), waiting));
    for (std::size_t release = check.release + 1; release < device_.releases.size() && open > 0; ++release) {
        if (compiled(release) == nullptr) continue;
        TargetCheck there;
        const ReleasePair& both = pair(saved, release, image.layout);
        judge_preset(both, explore(both, image, options_.facts, options_.hearing, options_.assets), options_, there);
        if (there.verdict == Verdict::refused) continue;
        for (Finding& finding : check.findings) {
            if (!waiting(finding)) continue;
            const bool still = std::any_of(there.findings.begin(), there.findings.end(), [&](const Finding& other) {
                return other.parameter == finding.parameter && other.weight > Weight::none;
            });
            if (still) continue;
            finding.brought_by = device_.releases[release].name;
            --open;
        }
    }
}

}  // namespace downfit::compat
