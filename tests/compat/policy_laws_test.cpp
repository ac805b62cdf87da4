// Laws of policies, over devices, presets and policies made up at random: a policy takes accepted findings out of a
// verdict and nothing else.
#include <algorithm>

#include "compat/laws.h"
#include "compat/policy.h"
#include "compat/random_device.h"
#include "support/property.h"

using namespace downfit;
using namespace downfit::testing;
using compat::Finding;
using compat::PresetCheck;
using compat::TargetCheck;
using compat::Verdict;
using compat::Weight;

namespace {

constexpr const char* today = "2026-06-15";

/// Two stamps may be either of two releases, so that a preset may be several things.
RandomFiles files_with_shared_stamps() {
    RandomFiles files = random_files();
    if (chance(40)) files.releases.front()["stamp"] = files.releases.back()["stamp"];
    return files;
}

std::string text_of(Weight weight) {
    return std::string(compat::weight_name(weight));
}

/// An acceptance of something in a check, or of something like it: as a user might write it, with what may be wrong.
schema::Acceptance random_acceptance(const PresetCheck& preset, const TargetCheck& check,
                                     const schema::Device& device) {
    schema::Acceptance entry;
    entry.reason = "made up";
    entry.weight = text_of(static_cast<Weight>(pick(1, 3)));
    entry.parameter = "volume";
    if (!check.findings.empty()) {
        const Finding& finding = check.findings[pick_of(check.findings.size())];
        entry.parameter = finding.parameter;
        if (chance(50)) entry.outcome = compat::row_of(finding.outcome).name;
        if (chance(50) && finding.weight != Weight::none) entry.weight = text_of(finding.weight);
        if (chance(20)) {
            entry.parameter = entry.outcome = "";
            entry.fingerprint = finding.fingerprint;
        }
    }
    if (entry.fingerprint.empty() && chance(30)) {
        entry.preset = preset.name.empty() ? "no name" : preset.name;
        if (chance(50)) entry.parameter = entry.outcome = "";
    }
    if (chance(20)) entry.on.push_back({device.releases[pick_of(device.releases.size())].name, {}});
    if (chance(20)) entry.until = chance(50) ? "2026-06-14" : "2026-06-15";
    for (const char* caution : {"louder", "feedback", "level-unknown"}) {
        if (chance(60)) entry.cautions.emplace_back(caution);
    }
    return entry;
}

schema::Tolerances random_tolerances() {
    schema::Tolerances made;
    for (auto* one : {&made.level, &made.pitch, &made.frequency, &made.q, &made.time, &made.long_time_from,
                      &made.long_time, &made.decay, &made.rate, &made.range}) {
        if (chance(40)) *one = static_cast<double>(pick(1, 100));
    }
    if (chance(30)) made.slight_up_to = static_cast<double>(pick(1, 20));
    if (chance(30)) made.louder = static_cast<double>(pick(1, 6));
    return made;
}

/// What a policy may not make better: all that a check may be, each with what is accepted of it.
struct Case {
    RandomFiles files = files_with_shared_stamps();
    schema::Device device = load_files(files);
    schema::Policy policy;
    compat::DumpCheck checked;

    Case() {
        if (chance(50)) policy.tolerances = random_tolerances();
        const std::size_t saved = files.releases.size() - 1;
        compat::CheckOptions options;
        for (std::size_t release = 0; release <= saved; ++release) options.targets.push_back(release);
        options.hearing = compat::hearing_of(policy.tolerances);
        options.others = true;
        options.brought_by = false;
        compat::Checker checker(device, options);
        dump::Dump dump;
        dump.device = &device;
        dump.file = "made-up.syx";
        dump.entries.push_back(random_entry(files, saved));
        if (chance(5)) dump.entries.front().state = dump::SlotState::damaged;
        checked = compat::check_dump(checker, dump, {});
        policy.fails = static_cast<schema::FailsFrom>(pick(0, 3));
        const TargetCheck& some = preset().targets[pick_of(preset().targets.size())];
        if (chance(60)) accept_all(some);
        const int count = pick(0, 4);
        for (int i = 0; i < count; ++i) policy.accepted.push_back(random_acceptance(preset(), some, device));
    }

    /// Every finding of a check as it is, now and then but for some.
    void accept_all(const TargetCheck& check) {
        const int percent = chance(70) ? 100 : 70;
        for (const Finding& finding : check.findings) {
            if (finding.weight == Weight::none || !chance(percent)) continue;
            schema::Acceptance entry;
            entry.parameter = finding.parameter;
            entry.outcome = compat::row_of(finding.outcome).name;
            entry.weight = text_of(finding.weight);
            entry.cautions = {"louder", "feedback", "level-unknown"};
            entry.reason = "all of it";
            policy.accepted.push_back(std::move(entry));
        }
    }

    [[nodiscard]] const PresetCheck& preset() const { return checked.presets.front(); }
    [[nodiscard]] compat::Ruling ruling(const schema::Policy& by) const {
        return compat::apply_policy(by, device, {&preset()}, today, true);
    }
};

/// The heaviest finding of a check that no acceptance covers, by the words of docs/formats.md alone.
Weight heaviest_unaccepted(const Case& made, const TargetCheck& check) {
    const std::string& release = made.device.releases[check.release].name;
    const auto about = [](const compat::Caution& caution, const Finding& finding) {
        return finding.weight != Weight::none &&
               (caution.parameter == finding.parameter || caution.parameter == finding.parameter_there ||
                finding.parameter.rfind(caution.parameter + ".", 0) == 0);
    };
    const auto covers = [&](const schema::Acceptance& entry, const Finding& finding) {
        if (!entry.until.empty() && entry.until < today) return false;
        if (finding.weight > compat::find_weight(entry.weight).value()) return false;
        for (const compat::Caution& caution : check.cautions) {
            const bool somebodys = std::any_of(check.findings.begin(), check.findings.end(),
                                               [&](const Finding& other) { return about(caution, other); });
            if (somebodys && !about(caution, finding)) continue;
            const auto listed =
                std::find(entry.cautions.begin(), entry.cautions.end(), compat::caution_key(caution.kind));
            if (listed == entry.cautions.end()) return false;
        }
        return true;
    };
    Weight weight = Weight::none;
    for (const Finding& finding : check.findings) {
        const bool accepted =
            std::any_of(made.policy.accepted.begin(), made.policy.accepted.end(), [&](const schema::Acceptance& entry) {
                if (!entry.on.empty() && entry.on.front().name != release) return false;
                if (!entry.fingerprint.empty())
                    return entry.fingerprint == finding.fingerprint && covers(entry, finding);
                if (!entry.preset.empty() && entry.preset != made.preset().name) return false;
                if (!entry.outcome.empty() && entry.outcome != compat::row_of(finding.outcome).name) return false;
                if (!entry.parameter.empty())
                    return (entry.parameter == finding.parameter || entry.parameter == finding.parameter_there) &&
                           covers(entry, finding);
                return std::all_of(check.findings.begin(), check.findings.end(), [&](const Finding& other) {
                    return other.weight == Weight::none || covers(entry, other);
                });
            });
        if (!accepted) weight = std::max(weight, finding.weight);
    }
    return weight;
}

std::vector<std::string> cautions_of(const TargetCheck& check) {
    std::vector<std::string> texts;
    for (const compat::Caution& caution : check.cautions)
        texts.push_back(std::string(compat::caution_name(caution.kind)) + ' ' + caution.parameter);
    std::sort(texts.begin(), texts.end());
    return texts;
}

}  // namespace

TEST_CASE("a policy makes no verdict better than its worst finding that nobody accepted") {
    Seen seen;
    holds("verdicts", [&] {
        const Case made;
        const compat::Ruling ruling = made.ruling(made.policy);
        for (std::size_t target = 0; target < made.preset().targets.size(); ++target) {
            const TargetCheck& check = made.preset().targets[target];
            const compat::TargetRuling& left = ruling.presets[0][target];
            Weight heaviest = heaviest_unaccepted(made, check);
            bool refused = check.verdict == Verdict::refused;
            for (const TargetCheck& other : check.others) {
                heaviest = std::max(heaviest, heaviest_unaccepted(made, other));
                refused = refused || other.verdict == Verdict::refused;
            }
            RC_ASSERT(left.weight == heaviest);
            RC_ASSERT(left.verdict >= verdict_of(heaviest));
            RC_ASSERT(left.verdict <= std::max(check.verdict, Verdict::undecided) || refused);
            if (refused) RC_ASSERT(left.verdict == Verdict::refused && left.fails);
            if (check.worst == Verdict::refused) RC_ASSERT(left.verdict >= Verdict::undecided);
            if (made.preset().state == dump::SlotState::damaged) RC_ASSERT(left.verdict == Verdict::undecided);
            seen.count("made better", left.verdict < check.verdict);
            seen.count("decided", check.verdict == Verdict::undecided && left.verdict < Verdict::undecided);
            seen.count("several things", !check.others.empty());
            seen.count("refused", refused);
            seen.count("partly accepted", left.weight != Weight::none && left.verdict < check.verdict);
        }
        for (const compat::EntryRuling& entry : ruling.entries) {
            seen.count("holds", entry.findings > 0);
            seen.count("lapsed", !entry.lapses.empty());
            seen.count("stale", entry.stale);
            RC_ASSERT(!entry.stale || (entry.findings == 0 && entry.lapses.empty()));
            RC_ASSERT(!entry.ended || entry.findings == 0);
        }
    });
    INFO(seen.text());
    CHECK(seen["made better"] >= 10);
    CHECK(seen["several things"] >= 10);
    CHECK(seen["refused"] >= 1);
    CHECK(seen["holds"] >= 20);
    CHECK(seen["lapsed"] >= 20);
    CHECK(seen["stale"] >= 10);
}

TEST_CASE("more acceptances never make anything fail, a stricter policy never makes it pass") {
    Seen seen;
    holds("monotone", [&] {
        const Case made;
        schema::Policy less = made.policy;
        std::erase_if(less.accepted, [](const schema::Acceptance&) { return chance(50); });
        const compat::Ruling many = made.ruling(made.policy), few = made.ruling(less);
        schema::Policy stricter = made.policy;
        if (stricter.fails != schema::FailsFrom::near)
            stricter.fails = static_cast<schema::FailsFrom>(static_cast<int>(stricter.fails) - 1);
        const compat::Ruling strict = made.ruling(stricter);
        for (std::size_t target = 0; target < made.preset().targets.size(); ++target) {
            const auto& with = many.presets[0][target];
            RC_ASSERT(with.weight <= few.presets[0][target].weight);
            RC_ASSERT(with.verdict <= few.presets[0][target].verdict);
            RC_ASSERT(strict.presets[0][target].fails || !with.fails);
            seen.count("passes only with them", !with.fails && few.presets[0][target].fails);
            seen.count("passes only here", !with.fails && strict.presets[0][target].fails);
        }
    });
    INFO(seen.text());
    CHECK(seen["passes only with them"] >= 1);
    CHECK(seen["passes only here"] >= 5);
}

TEST_CASE("nothing is new since a report of the same check, and nothing else changes by comparing") {
    Seen seen;
    holds("baseline", [&] {
        const Case made;
        const compat::Ruling before = made.ruling(made.policy);
        compat::Baseline baseline;
        for (std::size_t target = 0; target < made.preset().targets.size(); ++target) {
            const compat::TargetRuling& left = before.presets[0][target];
            baseline.add(made.preset().targets[target], left.verdict, left.weight);
        }
        const compat::Ruling after =
            compat::apply_policy(made.policy, made.device, {&made.preset()}, today, true, &baseline);
        RC_ASSERT(after.fresh == 0U);
        RC_ASSERT(after.gone == 0U);
        const compat::Baseline nothing;
        const compat::Ruling all_new =
            compat::apply_policy(made.policy, made.device, {&made.preset()}, today, true, &nothing);
        for (std::size_t target = 0; target < made.preset().targets.size(); ++target) {
            const auto &was = before.presets[0][target], &is = after.presets[0][target];
            RC_ASSERT(is.verdict == was.verdict);
            RC_ASSERT(is.weight == was.weight);
            RC_ASSERT(is.accepted == was.accepted);
            RC_ASSERT(!is.fails);
            RC_ASSERT(!is.undecided);
            RC_ASSERT(all_new.presets[0][target].fails == was.fails);
            RC_ASSERT(all_new.presets[0][target].undecided == was.undecided);
            seen.count("would fail", was.fails);
            seen.count("would be undecided", was.undecided);
        }
    });
    INFO(seen.text());
    CHECK(seen["would fail"] >= 10);
    CHECK(seen["would be undecided"] >= 10);
}

TEST_CASE("no tolerance takes a caution away") {
    Seen seen;
    holds("cautions", [&] {
        const RandomFiles files = files_with_shared_stamps();
        const schema::Device device = load_files(files);
        const std::size_t saved = chance(70) ? files.releases.size() - 1 : 0;
        const dump::Entry entry = random_entry(files, saved);
        compat::CheckOptions usual;
        usual.targets = {files.releases.size() - 1 - saved};
        usual.brought_by = false;
        compat::CheckOptions tolerant = usual;
        tolerant.hearing = compat::hearing_of(random_tolerances());
        compat::Checker strict(device, usual), loose(device, tolerant);
        const TargetCheck before = strict.check(entry).targets.front();
        const TargetCheck after = loose.check(entry).targets.front();
        for (const compat::Caution& caution : before.cautions) {
            // The gravest of a parameter is told: where less is called louder, that may stand for another one.
            const bool still =
                std::any_of(after.cautions.begin(), after.cautions.end(), [&](const compat::Caution& other) {
                    return other.parameter == caution.parameter && other.kind <= caution.kind;
                });
            if (!still) RC_FAIL(told(before) + "then\n" + told(after));
        }
        seen.count("cautions", !before.cautions.empty());
        for (const Finding& finding : before.findings) {
            const bool lighter = std::none_of(after.findings.begin(), after.findings.end(), [&](const Finding& other) {
                return other.parameter == finding.parameter && other.weight >= finding.weight;
            });
            seen.count("lighter", lighter);
        }
        seen.count("more cautions", after.cautions.size() > before.cautions.size());
    });
    INFO(seen.text());
    CHECK(seen["cautions"] >= 20);
    CHECK(seen["lighter"] >= 5);
}

TEST_CASE("where the stamp leaves several releases, the worst is told with the cautions of all") {
    Seen seen;
    holds("several releases", [&] {
        RandomFiles files = random_files();
        const std::size_t last = files.releases.size() - 1;
        files.releases.front()["stamp"] = files.releases.back()["stamp"];
        const schema::Device device = load_files(files);
        dump::Entry entry = random_entry(files, last);
        compat::CheckOptions options;
        options.targets = {last / 2};
        options.brought_by = false;
        compat::Checker either(device, options);
        const TargetCheck both = either.check(entry).targets.front();
        entry.stamp.reset();
        std::vector<std::string> all;
        Verdict worst = Verdict::intact, best = Verdict::refused;
        for (const std::size_t saved : {std::size_t{0}, last}) {
            compat::CheckOptions one = options;
            one.saved_on = saved;
            compat::Checker checker(device, one);
            const TargetCheck single = checker.check(entry).targets.front();
            worst = std::max(worst, single.verdict);
            best = std::min(best, single.verdict);
            const auto cautions = cautions_of(single);
            all.insert(all.end(), cautions.begin(), cautions.end());
        }
        std::sort(all.begin(), all.end());
        all.erase(std::unique(all.begin(), all.end()), all.end());
        RC_ASSERT(both.verdict == worst);
        RC_ASSERT(cautions_of(both) == all);
        seen.count("verdicts differ", worst != best);
        seen.count("cautions", !all.empty());
    });
    INFO(seen.text());
    CHECK(seen["verdicts differ"] >= 10);
    CHECK(seen["cautions"] >= 20);
}
