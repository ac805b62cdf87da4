// A policy over a rig, on results made by hand: what counts for which unit, what is stale, and for whom it is not
// meant.
#include "rig/ruling.h"

#include "support/catch.h"

using namespace downfit;
using namespace downfit::rig;

namespace {

schema::Device device_of(const std::string& name) {
    schema::Device device;
    device.name = name;
    for (const char* release : {"1.0", "2.0"}) device.releases.push_back({release, {}, {}, "", {}});
    return device;
}

compat::PresetCheck preset(std::size_t release, compat::Weight weight = compat::Weight::audible) {
    compat::Finding finding;
    finding.parameter = "drive";
    finding.outcome = compat::Outcome::clamped;
    finding.weight = finding.best = weight;
    compat::TargetCheck target;
    target.release = release;
    target.verdict = target.best = target.worst = compat::Verdict::altered;
    target.findings.push_back(std::move(finding));
    compat::PresetCheck check;
    check.name = "Ebb";
    check.slot = 7;
    check.targets.push_back(std::move(target));
    return check;
}

schema::Acceptance acceptance(const std::string& name, const std::string& weight = "audible") {
    schema::Acceptance made;
    made.preset = name;
    made.parameter = "drive";
    made.outcome = "clamped";
    made.weight = weight;
    made.reason = "tested";
    return made;
}

schema::RigUnit unit(const std::string& device, const std::string& release) {
    schema::RigUnit made;
    made.device = device;
    made.release = release;
    return made;
}

}  // namespace

TEST_CASE("rig ruling: what is accepted counts once for each unit", "[rig]") {
    const schema::Device wren = device_of("wren");
    schema::Policy policy;
    policy.accepted = {acceptance("Ebb")};
    Rulings rulings(&policy, "2026-03-02");
    CHECK(rulings.accepts(wren));
    for (const std::size_t on : {std::size_t{0}, std::size_t{2}}) {
        const compat::TargetRuling ruling = rulings.rule(wren, preset(0), 4, on);
        CHECK_FALSE(ruling.fails);
        CHECK(ruling.verdict == compat::Verdict::intact);
        CHECK(ruling.accepted == std::vector<std::optional<std::size_t>>{0});
    }
    const std::vector<EntryRuling> entries = std::move(rulings).finish({unit("wren", "1.0")});
    REQUIRE(entries.size() == 1);
    CHECK(entries[0].findings == 2);
    CHECK(entries[0].lapses.empty());
    CHECK_FALSE(entries[0].stale);
}

TEST_CASE("rig ruling: a lapse says on which unit", "[rig]") {
    const schema::Device wren = device_of("wren");
    schema::Policy policy;
    policy.accepted = {acceptance("Ebb", "slight"), acceptance("Ebb")};
    policy.accepted[1].until = "2026-03-01";
    Rulings rulings(&policy, "2026-03-02");
    CHECK(rulings.rule(wren, preset(1), 4, 3).fails);
    const std::vector<EntryRuling> entries = std::move(rulings).finish({unit("wren", "2.0")});
    for (const EntryRuling& entry : entries) {
        REQUIRE(entry.lapses.size() == 1);
        CHECK(entry.lapses[0].unit == 3);
        CHECK(entry.lapses[0].preset == 4);
        CHECK_FALSE(entry.stale);
    }
    CHECK(entries[0].lapses[0].lapse.why == compat::Lapse::Why::heavier);
    CHECK(entries[1].lapses[0].lapse.why == compat::Lapse::Why::date);
    CHECK_FALSE(entries[0].ended);
    CHECK(entries[1].ended);
}

TEST_CASE("rig ruling: stale is what no preset has, where a unit could have it", "[rig]") {
    const schema::Device wren = device_of("wren");
    schema::Policy policy;
    policy.accepted = {acceptance("Ebb"), acceptance("Flood"), acceptance("Flood")};
    policy.accepted[2].on = {{"1.0", {}}};
    const auto stale = [&](bool own, const std::string& release) {
        Rulings rulings(&policy, "2026-03-02");
        if (own) rulings.note(wren, preset(1));
        std::string text;
        for (const EntryRuling& entry : std::move(rulings).finish({unit("wren", release)})) {
            CHECK(entry.findings == 0);
            text += entry.stale ? 's' : '-';
        }
        return text;
    };
    CHECK(stale(false, "1.0") == "sss");
    CHECK(stale(false, "2.0") == "ss-");  // no unit runs 1.0
    CHECK(stale(true, "2.0") == "-s-");   // a preset of no song has it
}

TEST_CASE("rig ruling: a policy for one device leaves the others to the usual one", "[rig]") {
    const schema::Device wren = device_of("wren"), finch = device_of("finch");
    schema::Policy policy;
    policy.device = "wren";
    policy.fails = schema::FailsFrom::severe;
    policy.tolerances.level = 3;
    policy.accepted = {acceptance("Ebb")};
    Rulings rulings(&policy, "2026-03-02");
    CHECK_FALSE(rulings.accepts(finch));
    CHECK(rulings.policy_for(wren).tolerances.level == 3);
    CHECK_FALSE(rulings.policy_for(finch).tolerances.level);
    CHECK(rulings.rule(finch, preset(0), 0, 0).fails);
    CHECK_FALSE(rulings.rule(wren, preset(0), 0, 1).fails);
    // On a rig without a wren it means nothing, and is not called stale.
    Rulings idle(&policy, "2026-03-02");
    CHECK_FALSE(std::move(idle).finish({unit("finch", "1.0")})[0].stale);
}

TEST_CASE("rig ruling: without a policy what changes audibly fails", "[rig]") {
    const schema::Device wren = device_of("wren");
    Rulings rulings(nullptr, "");
    CHECK(rulings.rule(wren, preset(0), 0, 0).fails);
    CHECK_FALSE(rulings.rule(wren, preset(0, compat::Weight::slight), 0, 0).fails);
    CHECK(std::move(rulings).finish({unit("wren", "1.0")}).empty());
}
