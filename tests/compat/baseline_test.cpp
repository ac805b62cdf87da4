// What a baseline knows, and what is gone since: worked out by hand on findings made up here.
#include "compat/baseline.h"

#include <string>
#include <utility>
#include <vector>

#include "support/catch.h"

using namespace downfit;
using compat::Baseline;
using compat::PresetCheck;
using compat::TargetCheck;
using compat::Verdict;
using compat::Weight;

namespace {

TargetCheck target(const std::string& fingerprint, const std::vector<std::pair<std::string, Weight>>& findings) {
    TargetCheck check;
    check.fingerprint = fingerprint;
    for (const auto& [name, weight] : findings) {
        compat::Finding finding;
        finding.fingerprint = name;
        finding.weight = weight;
        check.findings.push_back(finding);
    }
    return check;
}

/// How many of a baseline's findings are gone from what was checked now.
std::size_t gone_from(const Baseline& baseline, const std::vector<TargetCheck>& now) {
    PresetCheck preset;
    preset.targets = now;
    return baseline.gone({&preset});
}

}  // namespace

TEST_CASE("baseline: a preset is known where it was no better, in verdict and in weight", "[compat]") {
    Baseline baseline;
    baseline.add(target("ebb", {}), Verdict::altered, Weight::audible);
    const auto knows = [&](const std::string& fingerprint, Verdict verdict, Weight weight) {
        return baseline.knows(target(fingerprint, {}), verdict, weight);
    };
    CHECK(knows("ebb", Verdict::altered, Weight::audible));
    CHECK(knows("ebb", Verdict::near, Weight::slight));
    CHECK_FALSE(knows("ebb", Verdict::undecided, Weight::audible));
    CHECK_FALSE(knows("ebb", Verdict::altered, Weight::severe));
    CHECK_FALSE(knows("ebb", Verdict::near, Weight::severe));
    CHECK_FALSE(knows("ebb", Verdict::refused, Weight::none));
    CHECK_FALSE(knows("flow", Verdict::intact, Weight::none));
}

TEST_CASE("baseline: gone is what could be heard then and cannot now, of what was checked again", "[compat]") {
    Baseline baseline;
    baseline.add(target("ebb", {{"volume", Weight::slight}, {"mode", Weight::severe}, {"name", Weight::none}}),
                 Verdict::altered, Weight::severe);
    CHECK(gone_from(baseline, {target("ebb", {{"volume", Weight::slight}, {"mode", Weight::severe}})}) == 0);
    CHECK(gone_from(baseline, {target("ebb", {{"mode", Weight::slight}})}) == 1);
    CHECK(gone_from(baseline, {target("ebb", {{"volume", Weight::audible}})}) == 1);
    CHECK(gone_from(baseline, {target("ebb", {})}) == 2);
    // What is still told and weighs nothing now is gone all the same.
    CHECK(gone_from(baseline, {target("ebb", {{"volume", Weight::none}, {"mode", Weight::none}})}) == 2);
    CHECK(gone_from(baseline, {target("flow", {})}) == 0);
    CHECK(baseline.gone({}) == 0);
}
