// Laws that hold for every preset, however odd its bytes.
#include <algorithm>

#include "compat/check.h"
#include "compat/explore.h"
#include "support/demo_files.h"
#include "support/property.h"

using namespace downfit;
using namespace downfit::testing;

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

/// A preset of the demo with some of its bytes replaced.
dump::Entry odd_entry() {
    const auto& entries = demo().dump.entries;
    dump::Entry entry = entries[*rc::gen::inRange<std::size_t>(0, 100)];
    const auto changes = *rc::gen::container<std::vector<std::pair<std::size_t, std::uint8_t>>>(
        rc::gen::pair(rc::gen::inRange<std::size_t>(0, entry.body.size()), rc::gen::arbitrary<std::uint8_t>()));
    for (const auto& [at, byte] : changes) entry.body[at] = byte;
    return entry;
}

compat::TargetCheck check_on(compat::Checker& checker, const dump::Entry& entry, std::size_t target) {
    for (compat::TargetCheck& check : checker.check(entry).targets) {
        if (check.release == target) return check;
    }
    return {};
}

std::string told(const compat::TargetCheck& check) {
    std::string text = std::string(compat::verdict_name(check.verdict)) + " " + check.reason + "\n";
    for (const compat::Finding& finding : check.findings) {
        text += finding.parameter + " " + std::string(compat::row_of(finding.outcome).name) + " " +
                (finding.saved ? finding.saved->stored.value_or("-") : "-") + "\n";
    }
    return text;
}

}  // namespace

TEST_CASE("loading a preset on its own release keeps everything") {
    compat::CheckOptions options;
    options.targets = {demo().device.releases.size() - 1};
    compat::Checker checker(demo().device, options);
    holds("own release", [&] {
        const dump::Entry entry = odd_entry();
        if (entry.state != dump::SlotState::filled) return;
        const compat::TargetCheck check = check_on(checker, entry, options.targets.front());
        for (const compat::Finding& finding : check.findings) {
            // A reference beyond the unit's slots is unfilled there too.
            if (finding.outcome != compat::Outcome::unfilled) RC_FAIL(told(check));
        }
    });
}

TEST_CASE("a check on two releases is the two checks") {
    const std::size_t newest = demo().device.releases.size() - 1;
    compat::CheckOptions both;
    both.targets = {newest - 3, newest - 6};
    compat::Checker on_both(demo().device, both);
    compat::CheckOptions one;
    one.targets = {newest - 6};
    compat::Checker on_one(demo().device, one);
    holds("several targets", [&] {
        const dump::Entry entry = odd_entry();
        if (entry.state != dump::SlotState::filled) return;
        RC_ASSERT(told(check_on(on_both, entry, newest - 6)) == told(check_on(on_one, entry, newest - 6)));
    });
}

TEST_CASE("stating a rule never widens the span between best and worst") {
    schema::Device stated = demo().device;
    for (schema::ReleaseEntry& entry : stated.releases) {
        if (entry.schema)
            entry.schema->rules.actions[static_cast<std::size_t>(schema::Rule::off_step)] = schema::Action::round;
    }
    compat::CheckOptions options;
    options.targets = {1};
    compat::Checker open(demo().device, options);
    compat::Checker settled(stated, options);
    holds("rules", [&] {
        const dump::Entry entry = odd_entry();
        if (entry.state != dump::SlotState::filled) return;
        const compat::TargetCheck before = check_on(open, entry, 1);
        const compat::TargetCheck after = check_on(settled, entry, 1);
        RC_ASSERT(after.best >= before.best);
        RC_ASSERT(after.worst <= before.worst);
    });
}
