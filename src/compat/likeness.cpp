#include "compat/likeness.h"

#include <algorithm>

#include "compat/explore.h"
#include "compat/findings.h"
#include "compat/heaviest.h"
#include "compat/side.h"
#include "dump/locate.h"
#include "dump/tree.h"

namespace downfit::compat {
namespace {

void leave_undecided(TargetCheck& check, std::string reason) {
    check.verdict = Verdict::undecided;
    check.best = Verdict::intact;
    check.worst = Verdict::altered;
    check.reason = std::move(reason);
}

std::string refusal_of(const CompiledRelease& release, const LoadedPreset& preset) {
    return release.release().name + " itself would refuse it: " + preset.refusal;
}

/// Verdict, best and worst over runs that differ only in what nobody stated.
void judge_likeness(const ReleasePair& pair, const Exploration& exploration, TargetCheck& check) {
    Verdict best = Verdict::altered;
    Verdict worst = Verdict::intact;
    bool any_judged = false;
    std::string refusal;
    for (const Run& run : exploration.runs) {
        if (run.saved.refused) refusal = refusal_of(pair.saved(), run.saved);
        if (!run.saved.refused && run.loading.refused) refusal = refusal_of(pair.loading(), run.loading);
        if (!run.judged()) continue;
        any_judged = true;
        best = std::min(best, verdict_of(run.best()));
        worst = std::max(worst, verdict_of(run.worst()));
    }
    if (any_judged) collect_findings(pair, exploration, check);
    if (!refusal.empty()) return leave_undecided(check, refusal);
    if (!any_judged) return leave_undecided(check, "the schema describes no parameter of presets");
    check.best = best;
    check.worst = worst;
    check.verdict = worst;
    if (best == worst && exploration.complete) return;
    check.verdict = Verdict::undecided;
    check.reason = exploration.asked.any() ? "loading rules are not stated" : "the schema does not say enough";
    for (std::size_t rule = 0; rule < schema::rule_count; ++rule) {
        if (exploration.asked.test(rule)) check.unsettled.push_back(schema::rule_table[rule].rule);
    }
}

bool less_alike(const TargetCheck& a, const TargetCheck& b) {
    if (a.verdict != b.verdict) return a.verdict > b.verdict;
    return heaviest(a) > heaviest(b);
}

/// Each combination of unknown facts apart; the worst is told.
void judge_facts(const ReleasePair& pair, Exploration exploration, TargetCheck& check) {
    const TargetCheck start = check;
    bool first = true;
    for (const auto& [facts, part] : split_by_facts(std::move(exploration))) {
        TargetCheck one = start;
        judge_likeness(pair, part, one);
        if (first || less_alike(one, check)) check = std::move(one);
        first = false;
    }
}

std::vector<std::size_t> unexplained_by(const CompiledRelease& release, const HeldPreset& preset,
                                        const schema::Device& device) {
    return dump::unexplained_bytes(release.instances(), preset.entry->layout, ByteView(preset.entry->body), &device);
}

/// The bytes that no parameter of either release explains, in order; of values by name their texts.
Bytes unexplained(const CompiledRelease& a, const CompiledRelease& b, const HeldPreset& preset,
                  const schema::Device& device) {
    const std::vector<std::size_t> by_a = unexplained_by(a, preset, device);
    const std::vector<std::size_t> by_b = unexplained_by(b, preset, device);
    Bytes bytes;
    for (const std::size_t at : by_a) {
        if (std::binary_search(by_b.begin(), by_b.end(), at)) bytes.push_back(preset.entry->body[at]);
    }
    return bytes;
}

/// The body with the bytes that change by themselves on either release made zero.
Bytes steady(const HeldPreset& preset, const CompiledRelease& a, const CompiledRelease& b) {
    Bytes body = preset.entry->body;
    for (const CompiledRelease* release : {&a, &b}) {
        for (const ByteSpan& span : release->release().layouts[preset.entry->layout].volatile_bytes) {
            const std::size_t end = std::min(body.size(), span.offset + span.length);
            for (std::size_t i = span.offset; i < end; ++i) body[i] = 0;
        }
    }
    return body;
}

std::size_t judged_differences(const Run& run) {
    if (!run.judged()) return static_cast<std::size_t>(-1);
    return static_cast<std::size_t>(
        std::count_if(run.judgements.begin(), run.judgements.end(),
                      [](const Judgement& judgement) { return judgement.outcome != Outcome::kept; }));
}

}  // namespace

/// One side of a comparison while it lasts.
struct Comparer::Half {
    Half(const HeldPreset& preset, const schema::Device& device, std::size_t stamped) {
        if (preset.entry->text)
            named.emplace(device.framings[preset.entry->framing].named.notation, preset.entry->body);
        image.body = preset.entry->body;
        image.layout = preset.entry->layout;
        image.stamp_release = stamped;
        image.slot = preset.slot;
        image.settings = preset.settings;
        image.named = named ? &*named : nullptr;
    }

    std::optional<dump::NamedBody> named;
    Image image;
};

Comparer::Comparer(const schema::Device& device, CheckOptions options)
    : device_(device), checker_(device, std::move(options)) {}

Comparer::~Comparer() = default;

const ReleasePair& Comparer::pair(const CompiledRelease& saved, const CompiledRelease& loading) {
    auto& slot = pairs_[{&saved, &loading}];
    if (!slot) slot = std::make_unique<ReleasePair>(saved, loading, device_);
    return *slot;
}

TargetCheck Comparer::compare_as(const HeldPreset& first, std::size_t first_on, const HeldPreset& second,
                                 std::size_t second_on) {
    TargetCheck check;
    check.release = second_on;
    check.saved_on = first_on;
    const CompiledRelease* saved = checker_.compiled(first_on, first.entry->layout);
    const CompiledRelease* loading = checker_.compiled(second_on, second.entry->layout);
    if (saved == nullptr || loading == nullptr) {
        const std::size_t missing = saved == nullptr ? first_on : second_on;
        leave_undecided(check, "no release file for " + device_.releases[missing].name + ", which saved it");
        return check;
    }
    const Half a(first, device_, first_on);
    const Half b(second, device_, second_on);
    const ReleasePair& both = pair(*saved, *loading);
    judge_facts(both,
                explore(both, a.image, b.image, Bodies::two, checker_.options().facts, checker_.options().hearing),
                check);
    return check;
}

Likeness Comparer::compare(const HeldPreset& first, const HeldPreset& second) {
    Likeness likeness;
    if (first.saved_on.empty() || second.saved_on.empty()) {
        leave_undecided(likeness.sound, "no release is known that saved it: its stamp is none that the schema knows");
        compare_bytes(first, second, likeness);
        return likeness;
    }
    // One stamp on both sides means one release, whichever it is.
    const bool alike = first.saved_on == second.saved_on;
    bool told = false;
    for (const std::size_t a : first.saved_on) {
        for (const std::size_t b : second.saved_on) {
            if (alike && a != b) continue;
            TargetCheck check = compare_as(first, a, second, b);
            if (!told || less_alike(check, likeness.sound)) likeness.sound = std::move(check);
            told = true;
        }
    }
    compare_bytes(first, second, likeness);
    return likeness;
}

void Comparer::compare_bytes(const HeldPreset& first, const HeldPreset& second, Likeness& likeness) {
    if (first.entry->layout != second.entry->layout) return;
    const std::size_t layout = first.entry->layout;
    const CompiledRelease* a = first.saved_on.empty() ? nullptr : checker_.compiled(first.saved_on.back(), layout);
    const CompiledRelease* b = second.saved_on.empty() ? nullptr : checker_.compiled(second.saved_on.back(), layout);
    if (a == nullptr || b == nullptr) {
        likeness.same_bytes = first.entry->body == second.entry->body;
        return;
    }
    likeness.same_bytes = steady(first, *a, *b) == steady(second, *a, *b);
    if (likeness.same_bytes) return;
    const Bytes left = unexplained(*a, *b, first, device_);
    const Bytes right = unexplained(*a, *b, second, device_);
    const std::size_t shared = std::min(left.size(), right.size());
    likeness.other_bytes = std::max(left.size(), right.size()) - shared;
    for (std::size_t i = 0; i < shared; ++i) likeness.other_bytes += std::size_t{left[i] != right[i]};
}

PredictionCheck Comparer::predict(const HeldPreset& first, const HeldPreset& second, std::size_t release) {
    PredictionCheck prediction;
    TargetCheck& check = prediction.check;
    check.release = release;
    check.saved_on = first.saved_on.empty() ? std::optional<std::size_t>() : first.saved_on.back();
    const CompiledRelease* sent = checker_.compiled(release, first.entry->layout);
    const CompiledRelease* shown = checker_.compiled(release, second.entry->layout);
    if (sent == nullptr) {
        leave_undecided(check, "no release file for " + device_.releases[release].name);
        return prediction;
    }
    if (first.saved_on.empty()) {
        leave_undecided(check, "no release is known that saved it: its stamp is none that the schema knows");
        return prediction;
    }
    const Half b(second, device_, release);
    Image after = b.image;
    after.as_it_stands = true;
    const ReleasePair& both = pair(*sent, *shown);
    const TargetCheck start = check;
    bool told = false;
    for (const std::size_t on : first.saved_on) {
        const Half a(first, device_, on);
        Exploration exploration =
            explore(both, a.image, after, Bodies::prediction, checker_.options().facts, checker_.options().hearing);
        // What nobody stated is no prediction: that possibility counts which explains best what the unit shows.
        const auto nearest = std::min_element(
            exploration.runs.begin(), exploration.runs.end(),
            [](const Run& left, const Run& right) { return judged_differences(left) < judged_differences(right); });
        if (nearest != exploration.runs.begin()) std::swap(exploration.runs.front(), *nearest);
        exploration.runs.resize(1);
        exploration.complete = true;
        const Run& run = exploration.runs.front();
        Assumptions base = run.assumptions;
        base.actions = run.saved_assumptions.actions;
        base.held_loading = run.assumptions.held_saved;
        LoadingEvidence evidence = evidence_of(*sent, a.image, *shown, after, base);
        TargetCheck one = start;
        one.saved_on = on;
        judge_likeness(both, exploration, one);
        if (run.saved.refused) {
            one.verdict = one.best = one.worst = Verdict::altered;
            one.reason = "predicted to be refused: " + run.saved.refusal;
        }
        // Of releases that the stamp may mean the one counts that explains best what the unit shows.
        if (told && !less_alike(check, one)) continue;
        check = std::move(one);
        prediction.evidence = std::move(evidence);
        told = true;
    }
    return prediction;
}

PredictionCheck Comparer::predict_refusal(const HeldPreset& first, std::size_t release) {
    PredictionCheck prediction;
    prediction.check.release = release;
    const CompiledRelease* sent = checker_.compiled(release, first.entry->layout);
    if (sent == nullptr || first.saved_on.empty()) {
        leave_undecided(prediction.check, "nothing is predicted for it");
        return prediction;
    }
    prediction.check.saved_on = first.saved_on.back();
    const Half a(first, device_, first.saved_on.back());
    Assumptions base;
    base.facts = checker_.options().facts;
    prediction.evidence = evidence_of_refusal(*sent, a.image, base);
    const bool as_predicted = prediction.evidence.empty();
    prediction.check.verdict = prediction.check.best = prediction.check.worst =
        as_predicted ? Verdict::intact : Verdict::altered;
    prediction.check.reason = as_predicted ? "refused, as predicted" : "predicted to load, and the slot is empty";
    return prediction;
}

std::vector<std::string> Comparer::not_in_both(std::size_t release, std::size_t first_layout,
                                               std::size_t second_layout) {
    std::vector<std::string> missing;
    const CompiledRelease* first = checker_.compiled(release, first_layout);
    const CompiledRelease* second = checker_.compiled(release, second_layout);
    if (first == nullptr || second == nullptr || first == second) return missing;
    const Loaded none;
    for (const CompiledRelease* one : {first, second}) {
        for (const BoundField& field : one->fields()) {
            const std::string& id = field.parameter->id;
            if (is_nowhere({one, &field, &none}) && std::find(missing.begin(), missing.end(), id) == missing.end())
                missing.push_back(id);
        }
    }
    return missing;
}

}  // namespace downfit::compat
