// Laws that hold for every preset of the demo, however odd its bytes.
#include <algorithm>

#include "compat/explore.h"
#include "compat/laws.h"
#include "support/demo_files.h"
#include "support/property.h"

using namespace downfit;
using namespace downfit::testing;
using compat::Verdict;

namespace {

struct Demo {
    schema::Device device = load_device_folder("dunlin-6");
    Bytes bytes = demo_dump("bank-a.syx");
    dump::Dump dump = read_demo_dump("bank-a.syx", bytes, device);
};

const Demo& demo() {
    static const Demo loaded;
    return loaded;
}

std::size_t newest() {
    return demo().device.releases.size() - 1;
}

/// The first dozen of its presets as a dump of their own: quicker to write.
struct FewPresets {
    Bytes bytes;
    dump::Dump dump;

    FewPresets() {
        const dump::Message& last = demo().dump.messages[demo().dump.entries[11].messages.back()];
        const auto end = static_cast<std::ptrdiff_t>(last.span.offset + last.span.length);
        bytes.assign(demo().bytes.begin(), demo().bytes.begin() + end);
        dump = read_demo_dump("few.syx", bytes, demo().device);
    }
};

/// A filled preset of the demo, of whose bytes some are replaced.
std::size_t odd_index(dump::Entry& entry, std::size_t below = 100) {
    std::size_t index = *rc::gen::inRange<std::size_t>(0, below);
    while (demo().dump.entries[index].state != dump::SlotState::filled) ++index;
    entry = demo().dump.entries[index];
    const auto changes = *rc::gen::container<std::vector<std::pair<std::size_t, std::uint8_t>>>(
        rc::gen::pair(rc::gen::inRange<std::size_t>(0, entry.body.size()), rc::gen::arbitrary<std::uint8_t>()));
    for (const auto& [at, byte] : changes) entry.body[at] = byte;
    return index;
}

dump::Entry odd_entry() {
    dump::Entry entry;
    (void)odd_index(entry);
    return entry;
}

/// The floor by its definition: step by step down from N, as long as the single check qualifies.
compat::Floor floor_by_hand(const std::vector<Verdict>& verdicts, std::size_t from, Verdict at_most) {
    compat::Floor floor;
    std::size_t release = from + 1;
    while (release > 0 && verdicts[release - 1] <= at_most) floor.oldest = --release;
    while (release > 0) {
        --release;
        if (verdicts[release] <= at_most) floor.islands.push_back(release);
    }
    return floor;
}

}  // namespace

TEST_CASE("loading a preset on its own release keeps everything") {
    compat::Checker checker(demo().device, checked_on({newest()}));
    Seen seen;
    holds("own release", [&] {
        const dump::Entry entry = odd_entry();
        const compat::TargetCheck check = check_on(checker, entry, newest());
        seen.count("judged", check.parameters > 0);
        for (const compat::Finding& finding : check.findings) {
            // A reference beyond the unit's slots is unfilled there too.
            if (finding.outcome != compat::Outcome::unfilled) RC_FAIL(told(check));
        }
    });
    INFO(seen.text());
    CHECK(seen["judged"] >= 50);
}

TEST_CASE("a check on several releases is the single checks, in any order") {
    const std::vector<std::size_t> releases{newest() - 3, 0, newest() - 6, newest()};
    compat::Checker together(demo().device, checked_on(releases));
    std::vector<std::unique_ptr<compat::Checker>> alone;
    for (const std::size_t release : releases)
        alone.push_back(std::make_unique<compat::Checker>(demo().device, checked_on({release})));
    Seen seen;
    holds("several targets", [&] {
        const dump::Entry entry = odd_entry();
        const compat::PresetCheck all = together.check(entry);
        RC_ASSERT(all.targets.size() == releases.size());
        for (std::size_t i = 0; i < releases.size(); ++i) {
            const compat::PresetCheck single = alone[i]->check(entry);
            RC_ASSERT(all.targets[i].release == releases[i]);
            RC_ASSERT(told(all.targets[i]) == told(single.targets.front()));
            RC_ASSERT(all.name == single.name);
            seen.count(std::string(compat::verdict_name(single.targets.front().verdict)));
            seen.count("brought by", told(all.targets[i]).find("brought by ,") == std::string::npos);
        }
    });
    INFO(seen.text());
    CHECK(seen["altered"] >= 20);
    CHECK(seen["intact"] >= 20);
}

TEST_CASE("a floor is what the single checks say") {
    std::vector<std::size_t> all;
    for (std::size_t release = 0; release <= newest(); ++release) all.push_back(release);
    compat::CheckOptions options = checked_on(all);
    options.floors = true;
    options.brought_by = false;
    compat::Checker checker(demo().device, options);
    std::vector<std::unique_ptr<compat::Checker>> alone;
    for (const std::size_t release : all) {
        compat::CheckOptions one = checked_on({release});
        one.brought_by = false;
        alone.push_back(std::make_unique<compat::Checker>(demo().device, one));
    }
    Seen seen;
    holds("floors", [&] {
        const dump::Entry entry = odd_entry();
        const compat::PresetCheck check = checker.check(entry);
        std::vector<Verdict> verdicts;
        for (const auto& one : alone) verdicts.push_back(one->check(entry).targets.front().verdict);
        RC_ASSERT(check.intact && check.near);
        const auto asserts = [&](const compat::Floor& floor, Verdict at_most) {
            const compat::Floor by_hand = floor_by_hand(verdicts, check.saved_on.front(), at_most);
            RC_ASSERT(floor.oldest == by_hand.oldest);
            RC_ASSERT(floor.islands == by_hand.islands);
            seen.count("a floor below its own release", floor.oldest && *floor.oldest < check.saved_on.front());
            seen.count("an island", !floor.islands.empty());
            seen.count("only its own release", floor.oldest == check.saved_on.front());
        };
        asserts(*check.intact, Verdict::intact);
        asserts(*check.near, Verdict::near);
        // What is intact is near: that floor never lies above.
        if (check.intact->oldest) RC_ASSERT(check.near->oldest && *check.near->oldest <= *check.intact->oldest);
    });
    INFO(seen.text());
    CHECK(seen["a floor below its own release"] >= 10);
    CHECK(seen["only its own release"] >= 5);
}

TEST_CASE("what the older release has after loading is the same after a dump and a reading of it") {
    // Through the whole chain: fields into the body, the body into messages with their packing and checks, and back.
    constexpr std::size_t target = 2;
    const compat::CompiledRelease loading(demo().device, *demo().device.releases[target].schema);
    const compat::CompiledRelease saving(demo().device, *demo().device.releases[newest()].schema);
    const compat::ReleasePair pair(saving, loading, demo().device);
    const FewPresets few;
    REQUIRE(few.dump.entries.size() == 12);
    Seen seen;
    holds("round trip", [&] {
        dump::Entry entry;
        const std::size_t index = odd_index(entry, 12);
        const compat::Image image{entry.body, entry.layout, newest(), -1, {}, nullptr};
        const compat::Exploration tried = compat::explore(pair, image, {}, {}, {});
        const compat::Run& run = tried.runs.front();
        if (!run.judged()) return;
        dump::Dump written = few.dump;
        Bytes& body = written.entries[index].body;
        body = entry.body;
        std::vector<std::size_t> kept;
        for (std::size_t link = 0; link < pair.links().size(); ++link) {
            const int field = pair.links()[link].loading;
            if (field < 0) continue;
            const auto& there = run.loading.fields[static_cast<std::size_t>(field)];
            const schema::Field& place = *loading.fields()[static_cast<std::size_t>(field)].field;
            if (!there.exists || !there.in_image || there.read_index < place.reads.size()) continue;
            RC_ASSERT(dump::write_field(place.storage, there.stored, body));
            seen.count("written");
            if (pair.links()[link].saved >= 0 && run.judgements[link].outcome == compat::Outcome::kept)
                kept.push_back(static_cast<std::size_t>(field));
        }
        const auto bytes = dump::write(written, few.bytes);
        RC_ASSERT(bytes.ok());
        const auto back = dump::read("again.syx", bytes.value(), demo().device);
        RC_ASSERT(back.ok());
        const dump::Entry& again = back.value().entries[index];
        RC_ASSERT(again.state == dump::SlotState::filled);
        // The last two bytes are the check over the others, computed anew.
        RC_ASSERT(again.body.size() == body.size());
        RC_ASSERT(std::equal(again.body.begin(), again.body.end() - 2, body.begin()));
        const compat::Image reread{again.body, again.layout, newest(), -1, {}, nullptr};
        const compat::LoadedPreset loaded = compat::load(loading, reread, run.assumptions);
        for (const std::size_t field : kept) {
            RC_ASSERT(loaded.fields[field].exists);
            RC_ASSERT(loaded.fields[field].stored == run.loading.fields[field].stored);
            seen.count("kept");
        }
    });
    INFO(seen.text());
    CHECK(seen["kept"] >= 5000);
}

TEST_CASE("stating a rule never widens the span between best and worst") {
    schema::Device stated = demo().device;
    for (schema::ReleaseEntry& entry : stated.releases) {
        if (entry.schema)
            entry.schema->rules.actions[static_cast<std::size_t>(schema::Rule::off_step)] = schema::Action::round;
    }
    compat::Checker open(demo().device, checked_on({1}));
    compat::Checker settled(stated, checked_on({1}));
    holds("rules", [&] {
        const dump::Entry entry = odd_entry();
        const compat::TargetCheck before = check_on(open, entry, 1);
        const compat::TargetCheck after = check_on(settled, entry, 1);
        RC_ASSERT(after.best >= before.best);
        RC_ASSERT(after.worst <= before.worst);
    });
}
