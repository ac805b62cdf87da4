// Laws over devices made up at random: what loading keeps, what wider ranges and stated rules do.
#include <algorithm>

#include "compat/explore.h"
#include "compat/laws.h"
#include "compat/random_device.h"
#include "support/property.h"

using namespace downfit;
using namespace downfit::testing;
using compat::Outcome;
using compat::TargetCheck;
using compat::Verdict;
using compat::Weight;

namespace {

TargetCheck check_files(const RandomFiles& files, const dump::Entry& entry, std::size_t target) {
    const schema::Device device = load_files(files);
    compat::Checker checker(device, checked_on({target}));
    return check_on(checker, entry, target);
}

/// What a release has in a field after loading, for messages.
std::string written_text(const RandomFiles& files, const compat::CompiledRelease& release, const compat::Run& run,
                         std::size_t field) {
    const compat::Loaded& loaded = run.loading.fields[field];
    return release.fields()[field].field->id + ": read " + std::to_string(loaded.read.whole) + ", has " +
           std::to_string(loaded.stored.whole) + ", act " + std::to_string(static_cast<int>(loaded.act)) + ' ' +
           files.device["rules"].dump() + ' ' + files.releases[release.release().order].dump();
}

const compat::Finding* finding_of(const TargetCheck& check, const std::string& parameter) {
    const auto at = std::find_if(check.findings.begin(), check.findings.end(),
                                 [&](const compat::Finding& finding) { return finding.parameter == parameter; });
    return at == check.findings.end() ? nullptr : &*at;
}

}  // namespace

TEST_CASE("loading on its own release keeps everything, whatever the rules") {
    Seen seen;
    holds("own release", [&] {
        const RandomFiles files = random_files();
        const auto saved = pick_of(files.releases.size());
        const dump::Entry entry = random_entry(files, saved);
        const TargetCheck check = check_files(files, entry, saved);
        seen.count("doubtful", !check.doubts.empty());
        seen.count("refused", check.worst == Verdict::refused);
        seen.count("intact", check.verdict == Verdict::intact);
        // What it refuses itself nobody can judge, and what the unit held before the preset does not say.
        if (check.worst == Verdict::refused) RC_ASSERT(check.verdict == Verdict::undecided);
        const bool whole = entry.body.size() >= full_body;
        if (whole && check.worst != Verdict::refused && check.verdict != Verdict::intact) RC_FAIL(told(check));
        for (const compat::Finding& finding : check.findings) {
            const bool held = !whole && finding.outcome == Outcome::unsure && finding.saved && !finding.saved->stored;
            if (finding.weight != Weight::none && !held) RC_FAIL(files.device["rules"].dump() + "\n" + told(check));
            seen.count("held", held);
        }
        if (whole) RC_ASSERT(check.cautions.empty());
    });
    INFO(seen.text());
    CHECK(seen["intact"] >= 50);
    CHECK(seen["doubtful"] >= 5);
    CHECK(seen["refused"] >= 1);
}

TEST_CASE("what is kept is read the same after it was written there") {
    Seen seen;
    holds("kept", [&] {
        const RandomFiles files = random_files();
        const schema::Device device = load_files(files);
        const std::size_t last = files.releases.size() - 1;
        const std::size_t from = chance(60) ? last : 0;
        const std::size_t to = last - from;
        const dump::Entry entry = random_entry(files, from);
        const compat::CompiledRelease saving(device, *device.releases[from].schema);
        const compat::CompiledRelease loading(device, *device.releases[to].schema);
        const compat::ReleasePair pair(saving, loading, device);
        const compat::Image image{entry.body, 0, from, entry.slot, {}, nullptr};
        const compat::Exploration tried = compat::explore(pair, image, {}, {}, {});
        for (const compat::Run& run : tried.runs) {
            if (!run.judged()) continue;
            // Written by T into a body of its own, all other bytes filled with something else.
            Bytes body(entry.body.size(), 0x55);
            std::vector<std::size_t> written;
            for (std::size_t link = 0; link < pair.links().size(); ++link) {
                if (pair.links()[link].loading < 0) continue;
                const auto field = static_cast<std::size_t>(pair.links()[link].loading);
                const compat::Loaded& there = run.loading.fields[field];
                if (!there.exists || !there.in_image) continue;
                if (!dump::write_field(loading.fields()[field].field->storage, there.stored, body))
                    RC_FAIL(written_text(files, loading, run, field));
                if (pair.links()[link].saved >= 0 && run.judgements[link].outcome == Outcome::kept)
                    written.push_back(link);
            }
            const compat::Image again{body, 0, to, entry.slot, {}, nullptr};
            const compat::LoadedPreset read = compat::load(loading, again, run.assumptions);
            RC_ASSERT(!read.refused);
            for (const std::size_t link : written) {
                const auto n = static_cast<std::size_t>(pair.links()[link].saved);
                const auto t = static_cast<std::size_t>(pair.links()[link].loading);
                const compat::Loaded& meant = run.saved.fields[n];
                const compat::Loaded& back = read.fields[t];
                RC_ASSERT(back.exists);
                if (back.stored != run.loading.fields[t].stored) RC_FAIL(written_text(files, loading, run, t));
                if (meant.exists && meant.choice != nullptr) {
                    RC_ASSERT(back.choice != nullptr);
                    RC_ASSERT(back.choice->meaning == meant.choice->meaning);
                    seen.count("choice");
                } else if (meant.exists && meant.stored.kind == dump::Stored::Kind::text) {
                    RC_ASSERT(back.stored.text == meant.stored.text);
                    seen.count("text");
                } else if (meant.exists) {
                    const auto& before = *meant.meaning->meaning;
                    const auto& after = *back.meaning->meaning;
                    RC_ASSERT(compat::same_amount(compat::amount_of(meant.value, before.unit),
                                                  compat::amount_of(back.value, after.unit)));
                    seen.count("number");
                    seen.count("changed by N", meant.act != compat::Act::nothing);
                }
            }
        }
    });
    INFO(seen.text());
    CHECK(seen["number"] >= 500);
    CHECK(seen["choice"] >= 100);
    CHECK(seen["text"] >= 20);
    CHECK(seen["changed by N"] >= 20);
}

TEST_CASE("a wider range makes nothing worse") {
    // Where T reads what N stored, by the same scale, and neither has a grid. (What it reads in another's place, or by
    // another scale, and what N itself rounds, a narrow range may happen to cut down to something nearer; and what is
    // wrapped may land anywhere.)
    Seen seen;
    holds("range", [&] {
        RandomFiles files = random_files();
        files.device["rules"]["out-of-range"] =
            std::vector<std::string>{"clamp", "reset", "keep", "refuse"}[pick_of(4)];
        const std::size_t to = 0;
        const std::size_t from = files.releases.size() - 1;
        // Now and then nothing else differs, so that this parameter makes the verdict.
        if (chance(80)) files.releases[to]["parameters"] = files.releases[from]["parameters"];
        Json& narrow = files.releases[to]["parameters"];
        Json& saved = files.releases[from]["parameters"];
        std::vector<std::string> shared;
        for (const auto& [id, parameter] : narrow.items()) {
            const bool same = saved.contains(id) && saved[id]["at"] == parameter["at"] &&
                              saved[id].value("scale", Json()) == parameter.value("scale", Json());
            if (same && parameter.contains("range")) shared.push_back(id);
        }
        if (shared.empty()) return;
        const std::string id = shared[pick_of(shared.size())];
        Json& parameter = narrow[id];
        parameter.erase("step");
        saved[id].erase("step");
        const double least = parameter["range"][0], most = parameter["range"][1];
        const double fifth = (most - least) / 5;
        // First as narrow as the middle, so that something lies beyond it.
        const double low = id == "rate" ? least : least + fifth, high = most - fifth;
        parameter["range"] = {low, high};
        parameter["default"] = (low + high) / 2;
        parameter.erase("neutral");
        dump::Entry entry = random_entry(files, from);
        // Mostly a number beyond the narrow range.
        const bool grouped = id.find('.') != std::string::npos;
        if (!grouped && !parameter.contains("as") && chance(90))
            entry.body[parameter["at"].get<std::size_t>()] = static_cast<std::uint8_t>(pick(85, 100));
        const TargetCheck before = check_files(files, entry, to);
        parameter["range"] = {low - (id == "rate" ? 0 : pick(0, 1) * fifth), high + pick(0, 2) * fifth / 2};
        const TargetCheck after = check_files(files, entry, to);
        const compat::Finding* was = finding_of(before, id);
        const compat::Finding* is = finding_of(after, id);
        // What N itself cannot hold it has cut down by its own rules, and a narrow range may do the same.
        for (const compat::Finding* finding : {was, is}) {
            if (finding != nullptr && !finding->saved_overflow.empty()) return;
        }
        const Weight heavier = is == nullptr ? Weight::none : is->weight;
        if (was == nullptr && before.worst < Verdict::undecided && heavier != Weight::none)
            RC_FAIL(files.device["rules"].dump() + "\n" + told(before) + "then\n" + told(after));
        if (was != nullptr && heavier > was->weight) RC_FAIL(told(before) + "then\n" + told(after));
        if (after.worst > before.worst || after.best > before.best) RC_FAIL(told(before) + "then\n" + told(after));
        seen.count("cautions went", before.cautions.size() > after.cautions.size());
        RC_ASSERT(after.cautions.size() <= before.cautions.size() || before.worst == Verdict::refused);
        seen.count("better", was != nullptr && heavier < was->weight);
        seen.count("better verdict", after.worst < before.worst);
        seen.count("beyond", was != nullptr && was->outcome != Outcome::rounded);
    });
    INFO(seen.text());
    // Seldom enough that of a hundred cases now and then only a few are: any will do.
    CHECK(seen["beyond"] >= 5);
    CHECK(seen["better"] >= 1);
    CHECK(seen["better verdict"] >= 1);
}

TEST_CASE("stating any rule never widens the span between best and worst") {
    Seen seen;
    holds("rules", [&] {
        RandomFiles files = random_files();
        const std::size_t last = files.releases.size() - 1;
        const std::size_t from = chance(70) ? last : 0;
        const std::size_t to = last - from;
        const dump::Entry entry = random_entry(files, from);
        const TargetCheck before = check_files(files, entry, to);
        std::vector<const schema::RuleRow*> open;
        for (const schema::RuleRow& row : schema::rule_table) {
            if (!files.device["rules"].contains(std::string(row.name))) open.push_back(&row);
        }
        if (open.empty() || !before.all_tried) return;
        const schema::RuleRow* row = open[pick_of(open.size())];
        // One of those that matter here, where there is any.
        if (!before.unsettled.empty()) row = &schema::row_of(before.unsettled.front());
        const std::string name(row->name);
        // By everyone, or by one of the two alone.
        Json& place = chance(50) ? files.device : files.releases[chance(50) ? from : to];
        for (std::size_t i = 0; i < row->action_count; ++i) {
            place["rules"][name] = schema::action_name(row->actions[i]);
            const TargetCheck after = check_files(files, entry, to);
            if (after.best < before.best || after.worst > before.worst)
                RC_FAIL(name + ' ' + place["rules"][name].get<std::string>() + '\n' + told(before) + "then\n" +
                        told(after));
            for (const compat::Finding& finding : after.findings) {
                const compat::Finding* was = finding_of(before, finding.parameter);
                const Weight best = was == nullptr ? Weight::none : was->best;
                const Weight worst = was == nullptr ? Weight::none : was->weight;
                if (finding.best < best || finding.weight > worst)
                    RC_FAIL(name + ' ' + finding.parameter + '\n' + told(before) + "then\n" + told(after));
            }
            seen.count("settled", before.verdict == Verdict::undecided && after.verdict != Verdict::undecided);
            seen.count("narrowed", after.best > before.best || after.worst < before.worst);
            seen.count("left open", after.verdict == Verdict::undecided);
        }
        seen.count("undecided", before.verdict == Verdict::undecided);
    });
    INFO(seen.text());
    CHECK(seen["undecided"] >= 20);
    CHECK(seen["settled"] >= 20);
    CHECK(seen["narrowed"] >= 20);
    CHECK(seen["left open"] >= 20);
}
