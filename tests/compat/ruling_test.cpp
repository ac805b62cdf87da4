// Rulings in which little decides: several things that a preset may be, baselines, lapses told once.
#include <string>
#include <utility>
#include <vector>

#include "compat/policy.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::compat;

namespace {

schema::Device two_releases() {
    schema::Device wren;
    wren.name = "wren";
    for (const char* name : {"1.0", "2.0"}) wren.releases.push_back({name, {}, {}, "", {}});
    return wren;
}

/// A finding whose fingerprint is its parameter's name.
Finding found(const std::string& parameter, Weight weight, Weight best) {
    Finding made;
    made.parameter = made.fingerprint = parameter;
    made.outcome = Outcome::clamped;
    made.weight = weight;
    made.best = best;
    return made;
}
Finding found(const std::string& parameter, Weight weight) {
    return found(parameter, weight, weight);
}

TargetCheck target_check(Verdict verdict, std::vector<Finding> findings, const std::string& fingerprint = "target") {
    TargetCheck made;
    made.verdict = made.best = made.worst = verdict;
    made.findings = std::move(findings);
    made.fingerprint = fingerprint;
    return made;
}

PresetCheck preset_of(std::vector<TargetCheck> targets) {
    PresetCheck made;
    made.name = "Lead";
    for (std::size_t i = 0; i < targets.size(); ++i) targets[i].release = i;
    made.targets = std::move(targets);
    return made;
}

/// Accepts a parameter up to a weight.
schema::Policy accepting(const std::string& parameter, const std::string& weight) {
    schema::Policy policy;
    schema::Acceptance entry;
    entry.parameter = parameter;
    entry.weight = weight;
    policy.accepted.push_back(entry);
    return policy;
}

Ruling ruled(const schema::Policy& policy, const std::vector<PresetCheck>& presets,
             const Baseline* baseline = nullptr) {
    static const schema::Device device = two_releases();
    std::vector<const PresetCheck*> views;
    for (const PresetCheck& one : presets) views.push_back(&one);
    return apply_policy(policy, device, views, "2026-06-15", true, baseline);
}

/// The ruling on the only preset on its first target.
TargetRuling first_of(const schema::Policy& policy, const PresetCheck& preset, const Baseline* baseline = nullptr) {
    return ruled(policy, {preset}, baseline).presets[0][0];
}

}  // namespace

TEST_CASE("ruling: undecided is what is, or may be, and was not known as such") {
    const TargetCheck sure = target_check(Verdict::altered, {found("drive", Weight::audible)});
    TargetCheck open = target_check(Verdict::undecided, {});
    open.worst = Verdict::refused;
    TargetCheck both = sure;
    both.others = {open};
    CHECK_FALSE(first_of({}, preset_of({sure})).undecided);
    CHECK(first_of({}, preset_of({open})).undecided);
    CHECK(first_of({}, preset_of({both})).undecided);
    TargetCheck other = open;
    other.others = {sure};
    CHECK(first_of({}, preset_of({other})).undecided);
    TargetCheck twice = sure;
    twice.others = {sure};
    CHECK_FALSE(first_of({}, preset_of({twice})).undecided);
    // What a report told before: undecided, at its worst as heavy.
    Baseline known;
    known.add(open, Verdict::undecided, Weight::audible);
    known.add(sure, Verdict::undecided, Weight::audible);
    CHECK_FALSE(first_of({}, preset_of({both}), &known).undecided);
    CHECK_FALSE(first_of({}, preset_of({open}), &known).undecided);
    Baseline before;
    before.add(sure, Verdict::altered, Weight::audible);
    CHECK(first_of({}, preset_of({both}), &before).undecided);
    CHECK(first_of({}, preset_of({open}), &before).undecided);
}

TEST_CASE("ruling: what may be heard and was not told before is new") {
    const PresetCheck preset =
        preset_of({target_check(Verdict::altered, {found("drive", Weight::audible), found("tone", Weight::slight),
                                                   found("mix", Weight::none)})});
    Baseline none;
    CHECK(ruled({}, {preset}, &none).fresh == 2);
    Baseline known;
    known.add(target_check(Verdict::near, {found("tone", Weight::slight)}), Verdict::near, Weight::slight);
    CHECK(ruled({}, {preset}, &known).fresh == 1);
}

TEST_CASE("ruling: a parameter is accepted where it is no heavier, whatever it is elsewhere in the preset") {
    const PresetCheck preset = preset_of({target_check(
        Verdict::altered, {found("amp[1].drive", Weight::audible), found("amp[2].drive", Weight::severe)})});
    const Ruling ruling = ruled(accepting("amp.drive", "audible"), {preset});
    CHECK(ruling.presets[0][0].accepted[0] == std::size_t{0});
    CHECK_FALSE(ruling.presets[0][0].accepted[1]);
    CHECK(ruling.entries[0].findings == 1);
    CHECK(ruling.entries[0].lapses.size() == 1);
    // Without a weight nothing that can be heard is accepted.
    const PresetCheck slight = preset_of({target_check(Verdict::near, {found("amp[1].drive", Weight::slight)})});
    CHECK(ruled(accepting("amp.drive", ""), {slight}).entries[0].lapses.size() == 1);
}

TEST_CASE("ruling: a lapse is told once for each parameter of each preset on each release") {
    const auto lapses = [](const std::vector<PresetCheck>& presets) {
        return ruled(accepting("amp.drive", "slight"), presets).entries[0].lapses.size();
    };
    const TargetCheck one = target_check(Verdict::altered, {found("amp[1].drive", Weight::audible)});
    const TargetCheck two = target_check(
        Verdict::altered, {found("amp[1].drive", Weight::audible), found("amp[2].drive", Weight::audible)});
    TargetCheck again = two;
    again.others = {two, one};
    CHECK(lapses({preset_of({one})}) == 1);
    CHECK(lapses({preset_of({two})}) == 2);
    CHECK(lapses({preset_of({again})}) == 2);
    CHECK(lapses({preset_of({one}), preset_of({one})}) == 2);
    CHECK(lapses({preset_of({one, one})}) == 2);
    CHECK(lapses({preset_of({one, two}), preset_of({two, again})}) == 7);
}

TEST_CASE("ruling: what is sure is judged by what is left at its worst") {
    const PresetCheck preset = preset_of({target_check(
        Verdict::altered, {found("amp[1].drive", Weight::audible), found("tone", Weight::slight, Weight::none)})});
    CHECK(first_of({}, preset).verdict == Verdict::altered);
    CHECK(first_of(accepting("amp.drive", "audible"), preset).verdict == Verdict::near);
}
