// Applying a policy to results made by hand: what is accepted, what lapses, what is left.
#include "compat/policy.h"

#include <functional>

#include "support/catch.h"

using namespace downfit;
using namespace downfit::compat;

namespace {

const schema::Device& device() {
    static const schema::Device made = [] {
        schema::Device wren;
        wren.name = "wren";
        for (const char* name : {"1.0", "2.0"}) wren.releases.push_back({name, {}, {}, "", {}});
        return wren;
    }();
    return made;
}

Finding finding(const std::string& parameter, Outcome outcome, Weight weight, const std::string& fingerprint = {}) {
    Finding made;
    made.parameter = parameter;
    made.outcome = outcome;
    made.weight = made.best = weight;
    made.fingerprint = fingerprint;
    return made;
}

TargetCheck check(Verdict verdict, std::vector<Finding> findings, std::size_t release = 0) {
    TargetCheck made;
    made.release = release;
    made.verdict = made.best = made.worst = verdict;
    made.findings = std::move(findings);
    return made;
}

PresetCheck preset(const std::string& name, TargetCheck target) {
    PresetCheck made;
    made.name = name;
    made.slot = 7;
    made.targets.push_back(std::move(target));
    return made;
}

schema::Acceptance by(const std::string& preset, const std::string& parameter, const std::string& outcome,
                      const std::string& weight) {
    schema::Acceptance made;
    made.preset = preset;
    made.parameter = parameter;
    made.outcome = outcome;
    made.weight = weight;
    made.reason = "tested";
    return made;
}

schema::Policy policy_of(std::vector<schema::Acceptance> accepted) {
    schema::Policy policy;
    policy.accepted = std::move(accepted);
    return policy;
}

Ruling ruling_of(const schema::Policy& policy, const std::vector<PresetCheck>& presets, bool whole = true) {
    std::vector<const PresetCheck*> views;
    for (const PresetCheck& one : presets) views.push_back(&one);
    return apply_policy(policy, device(), views, "2026-06-15", whole);
}

/// Verdict, weight and whether it fails: "near slight", "altered audible fails".
std::string told(const TargetRuling& ruling) {
    return std::string(verdict_name(ruling.verdict)) + ' ' + std::string(weight_name(ruling.weight)) +
           (ruling.fails ? " fails" : "");
}

std::string left_of(const schema::Policy& policy, const PresetCheck& preset) {
    return told(ruling_of(policy, {preset}).presets[0][0]);
}

const PresetCheck& lead() {
    static const PresetCheck made =
        preset("Lead", check(Verdict::altered, {finding("amp[2].drive", Outcome::clamped, Weight::audible, "aa"),
                                                finding("colour", Outcome::swapped, Weight::slight, "bb"),
                                                finding("mix", Outcome::rounded, Weight::none, "cc")}));
    return made;
}

}  // namespace

TEST_CASE("without a policy whatever is audible fails") {
    const schema::Policy none;
    CHECK(left_of(none, lead()) == "altered audible fails");
    CHECK(left_of(none, preset("", check(Verdict::intact, {}))) == "intact none");
    CHECK(left_of(none, preset("", check(Verdict::near, {finding("a", Outcome::cut, Weight::slight)}))) ==
          "near slight");
    CHECK(left_of(none, preset("", check(Verdict::refused, {}))) == "refused none fails");
    CHECK(left_of(none, preset("", check(Verdict::undecided, {}))) == "undecided none");
}

TEST_CASE("what fails, on all releases and on one") {
    struct Row {
        schema::FailsFrom fails;
        bool near, audible, severe, refused;
    };
    const std::vector<Row> rows{{schema::FailsFrom::near, true, true, true, true},
                                {schema::FailsFrom::altered, false, true, true, true},
                                {schema::FailsFrom::severe, false, false, true, true},
                                {schema::FailsFrom::refused, false, false, false, true}};
    for (const Row& row : rows) {
        CAPTURE(std::string(schema::fails_name(row.fails)));
        const auto fails = [&](const schema::Policy& policy, Verdict verdict, Weight weight) {
            const PresetCheck one = preset("", check(verdict, {finding("a", Outcome::reset, weight)}));
            return ruling_of(policy, {one}).presets[0][0].fails;
        };
        schema::Policy everywhere, there, elsewhere;
        everywhere.fails = row.fails;
        there.releases.push_back({{"1.0", {}}, row.fails});
        elsewhere.releases.push_back({{"2.0", {}}, row.fails});
        for (const schema::Policy& policy : {everywhere, there}) {
            CHECK(fails(policy, Verdict::near, Weight::slight) == row.near);
            CHECK(fails(policy, Verdict::altered, Weight::audible) == row.audible);
            CHECK(fails(policy, Verdict::altered, Weight::severe) == row.severe);
            CHECK(fails(policy, Verdict::refused, Weight::none) == row.refused);
            CHECK_FALSE(fails(policy, Verdict::undecided, Weight::severe));
        }
        CHECK_FALSE(fails(elsewhere, Verdict::near, Weight::slight));
        CHECK(fails(elsewhere, Verdict::altered, Weight::audible));
    }
}

TEST_CASE("what an acceptance means") {
    struct Row {
        std::string what;
        std::function<void(schema::Acceptance&)> change;
        bool means;
    };
    const std::vector<Row> rows{
        {"preset, parameter and outcome", [](auto&) {}, true},
        {"another preset", [](auto& entry) { entry.preset = "Rhythm"; }, false},
        {"another letter case", [](auto& entry) { entry.preset = "lead"; }, false},
        {"another outcome", [](auto& entry) { entry.outcome = "reset"; }, false},
        {"another parameter", [](auto& entry) { entry.parameter = "amp.bass"; }, false},
        {"a part of the parameter", [](auto& entry) { entry.parameter = "drive"; }, false},
        {"that instance", [](auto& entry) { entry.parameter = "amp[2].drive"; }, true},
        {"another instance", [](auto& entry) { entry.parameter = "amp[1].drive"; }, false},
        {"a later instance", [](auto& entry) { entry.parameter = "amp[3].drive"; }, false},
        {"what lies deeper", [](auto& entry) { entry.parameter = "amp.drive.depth"; }, false},
        {"the group alone", [](auto& entry) { entry.parameter = "amp"; }, false},
        {"an earlier slot", [](auto& entry) { entry.slot = 6; }, false},
        {"its slot", [](auto& entry) { entry.slot = 7; }, true},
        {"another slot", [](auto& entry) { entry.slot = 8; }, false},
        {"its release",
         [](auto& entry) {
             entry.on = {{"2.0", {}}, {"1.0", {}}};
         },
         true},
        {"another release",
         [](auto& entry) {
             entry.on = {{"2.0", {}}};
         },
         false},
        {"the parameter anywhere", [](auto& entry) { entry.preset = entry.outcome = ""; }, true},
        {"the parameter and outcome anywhere", [](auto& entry) { entry.preset = ""; }, true},
        {"the whole preset", [](auto& entry) { entry.parameter = entry.outcome = ""; }, true},
        {"the fingerprint",
         [](auto& entry) {
             entry = by("", "", "", "audible");
             entry.fingerprint = "aa";
         },
         true},
        {"another fingerprint",
         [](auto& entry) {
             entry = by("", "", "", "audible");
             entry.fingerprint = "ab";
         },
         false},
    };
    for (const Row& row : rows) {
        CAPTURE(row.what);
        schema::Acceptance entry = by("Lead", "amp.drive", "clamped", "audible");
        row.change(entry);
        const Ruling ruling = ruling_of(policy_of({entry}), {lead()});
        const TargetRuling& left = ruling.presets[0][0];
        CHECK(left.accepted[0].has_value() == row.means);
        CHECK_FALSE(left.accepted[2]);  // there is nothing to accept
        CHECK(left.fails == !row.means);
        CHECK(ruling.entries[0].stale == !row.means);
        CHECK(ruling.entries[0].lapses.empty());
        const bool all = row.what == "the whole preset";
        CHECK(ruling.entries[0].findings == (row.means ? (all ? 2u : 1u) : 0u));
        CHECK(told(left) == (all ? "intact none" : row.means ? "near slight" : "altered audible fails"));
    }
}

TEST_CASE("the name that the other release has for a parameter is its name too") {
    Finding renamed = finding("delay.mix", Outcome::clamped, Weight::audible);
    renamed.parameter_there = "echo.blend";
    const PresetCheck one = preset("Lead", check(Verdict::altered, {renamed}));
    CHECK(left_of(policy_of({by("", "echo.blend", "", "audible")}), one) == "intact none");
}

TEST_CASE("an acceptance lapses: heavier, a new caution, its date past") {
    schema::Acceptance entry = by("Lead", "amp.drive", "clamped", "slight");
    Ruling ruling = ruling_of(policy_of({entry}), {lead()});
    REQUIRE(ruling.entries[0].lapses.size() == 1);
    CHECK(ruling.entries[0].lapses[0].why == Lapse::Why::heavier);
    CHECK(ruling.entries[0].lapses[0].weight == Weight::audible);
    CHECK(ruling.entries[0].lapses[0].parameter == "amp[2].drive");
    CHECK_FALSE(ruling.entries[0].stale);
    CHECK(ruling.presets[0][0].fails);

    entry.weight = "severe";
    PresetCheck loud = lead();
    loud.targets[0].cautions.push_back({CautionKind::louder, "amp[2].drive", 7});
    ruling = ruling_of(policy_of({entry}), {loud});
    REQUIRE(ruling.entries[0].lapses.size() == 1);
    CHECK(ruling.entries[0].lapses[0].why == Lapse::Why::caution);
    CHECK(ruling.entries[0].lapses[0].caution == CautionKind::louder);
    entry.cautions = {"feedback", "louder"};
    CHECK(ruling_of(policy_of({entry}), {loud}).entries[0].lapses.empty());

    entry.until = "2026-06-14";
    ruling = ruling_of(policy_of({entry}), {loud});
    REQUIRE(ruling.entries[0].lapses.size() == 1);
    CHECK(ruling.entries[0].lapses[0].why == Lapse::Why::date);
    CHECK(ruling.entries[0].ended);
    entry.until = "2026-06-15";
    CHECK(ruling_of(policy_of({entry}), {loud}).entries[0].findings == 1);
}

TEST_CASE("whose caution it is") {
    const auto lapses = [](const Caution& caution) {
        PresetCheck one = lead();
        one.targets[0].cautions.push_back(caution);
        return !ruling_of(policy_of({by("Lead", "amp.drive", "clamped", "severe")}), {one}).entries[0].lapses.empty();
    };
    CHECK(lapses({CautionKind::level_unknown, "amp[2].drive", 0}));
    CHECK(lapses({CautionKind::level_unknown, "amp[2]", 0}));        // of its group
    CHECK_FALSE(lapses({CautionKind::level_unknown, "colour", 0}));  // of another finding
    CHECK(lapses({CautionKind::level_unknown, "cabinet", 0}));       // of none that is told: of all
    CHECK(lapses({CautionKind::level_unknown, "mix", 0}));           // of one that nobody hears: of all
    CHECK(lapses({CautionKind::level_unknown, "amp", 0}));
}

TEST_CASE("a whole preset is accepted as it was, or not at all") {
    PresetCheck one = lead();
    const schema::Policy policy = policy_of({by("Lead", "", "", "audible")});
    CHECK(left_of(policy, one) == "intact none");
    one.targets[0].findings[1].weight = Weight::severe;
    const Ruling ruling = ruling_of(policy, {one});
    CHECK(told(ruling.presets[0][0]) == "altered severe fails");
    CHECK(ruling.entries[0].findings == 0);
    CHECK(ruling.entries[0].lapses.size() == 1);
}

TEST_CASE("a parameter is accepted preset by preset") {
    PresetCheck worse = lead();
    worse.name = "Solo";
    worse.targets[0].findings[0].weight = Weight::severe;
    const Ruling ruling = ruling_of(policy_of({by("", "amp.drive", "", "audible")}), {lead(), worse});
    CHECK(told(ruling.presets[0][0]) == "near slight");
    CHECK(told(ruling.presets[1][0]) == "altered severe fails");
    CHECK(ruling.entries[0].findings == 1);
    CHECK(ruling.entries[0].lapses.size() == 1);
    CHECK(ruling.entries[0].lapses[0].preset == 1);
}

TEST_CASE("nothing accepts a refused preset, or one that could not be read") {
    const schema::Policy policy = policy_of({by("Lead", "", "", "severe")});
    PresetCheck one = lead();
    one.targets[0].verdict = one.targets[0].best = one.targets[0].worst = Verdict::refused;
    CHECK(left_of(policy, one) == "refused none fails");
    one.targets[0].verdict = Verdict::undecided;
    one.targets[0].best = Verdict::intact;
    CHECK(left_of(policy, one) == "undecided none");
    one.state = dump::SlotState::damaged;
    CHECK(left_of(policy, one) == "undecided none");
}

TEST_CASE("accepting what is unsure decides, unless more is open") {
    PresetCheck one = lead();
    TargetCheck& target = one.targets[0];
    target.verdict = Verdict::undecided;
    target.best = Verdict::near;
    target.worst = Verdict::altered;
    target.findings[0].outcome = Outcome::unsure;
    target.findings[0].best = Weight::none;
    const schema::Policy policy = policy_of({by("Lead", "amp.drive", "unsure", "audible")});
    CHECK(left_of({}, one) == "undecided audible");
    CHECK(left_of(policy, one) == "near slight");
    target.all_tried = false;
    CHECK(left_of(policy, one) == "undecided slight");
    target.all_tried = true;
    target.findings[1].best = Weight::none;
    CHECK(left_of(policy, one) == "undecided slight");
}

TEST_CASE("where a preset may be several things, each has to be accepted") {
    PresetCheck one = lead();
    one.targets[0].others.push_back(
        check(Verdict::altered, {finding("reverb.size", Outcome::clamped, Weight::audible, "dd")}));
    CHECK(left_of(policy_of({by("Lead", "amp.drive", "clamped", "audible")}), one) == "altered audible fails");
    CHECK(left_of(policy_of({by("Lead", "amp.drive", "clamped", "audible"), by("", "reverb.size", "", "audible")}),
                  one) == "near slight");
    CHECK(left_of(policy_of({by("Lead", "", "", "audible")}), one) == "intact none");
    one.targets[0].others.push_back(check(Verdict::undecided, {}));
    one.targets[0].others.back().worst = Verdict::refused;
    CHECK(left_of(policy_of({by("Lead", "", "", "audible")}), one) == "undecided none");
}

TEST_CASE("stale: what means nothing, unless presets were left out") {
    const schema::Policy policy = policy_of({by("Gone", "", "", "severe"), by("Lead", "mix", "rounded", "severe"),
                                             by("Lead", "amp.drive", "clamped", "audible")});
    const Ruling whole = ruling_of(policy, {lead()});
    CHECK(whole.entries[0].stale);
    CHECK(whole.entries[1].stale);  // nobody hears it any more
    CHECK_FALSE(whole.entries[2].stale);
    CHECK_FALSE(ruling_of(policy, {lead()}, false).entries[0].stale);
}

TEST_CASE("the first acceptance that holds is told, all that hold are counted") {
    schema::Acceptance ended = by("Lead", "", "", "severe");
    ended.until = "2020-01-01";
    const Ruling ruling = ruling_of(
        policy_of({ended, by("Lead", "amp.drive", "clamped", "audible"), by("", "amp.drive", "", "severe")}), {lead()});
    CHECK(ruling.presets[0][0].accepted[0] == std::size_t{1});
    CHECK(ruling.entries[1].findings == 1);
    CHECK(ruling.entries[2].findings == 1);
}

TEST_CASE("tolerances are the thresholds of hearing") {
    schema::Tolerances written;
    Hearing hearing = hearing_of(written);
    CHECK(hearing.level_db == Hearing{}.level_db);
    CHECK(hearing.louder_db == Hearing{}.louder_db);
    written = {2, 4, 50, 10, 8, 200, 3, 6, 4, 5, 2, 3};
    hearing = hearing_of(written);
    CHECK(hearing.level_db == 2);
    CHECK(hearing.pitch_cents == 4);
    CHECK(hearing.frequency_cents == 50);
    CHECK(hearing.q_share == Approx(0.1));
    CHECK(hearing.time_floor_s == Approx(0.008));
    CHECK(hearing.time_knee_s == Approx(0.2));
    CHECK(hearing.time_share == Approx(0.03));
    CHECK(hearing.decay_share == Approx(0.06));
    CHECK(hearing.rate_share == Approx(0.04));
    CHECK(hearing.range_share == Approx(0.05));
    CHECK(hearing.slight_up_to == 2);
    CHECK(hearing.louder_db == 3);
}

TEST_CASE("a policy file knows every outcome that tells of a difference, every weight and every caution") {
    const auto read = [](const std::string& outcome, const std::string& weight, const std::string& caution) {
        return schema::read_policy({"policy.json", R"({ "format": "downfit policy 1", "accepted": [
            { "parameter": "a", "outcome": ")" + outcome +
                                                       R"(", "weight": ")" + weight + R"(", "cautions": [")" + caution +
                                                       R"("], "reason": "x" }] })"})
            .ok();
    };
    for (const OutcomeRow& row : outcome_table()) {
        CAPTURE(std::string(row.name));
        CHECK(read(std::string(row.name), "slight", "louder") == (row.outcome != Outcome::kept));
    }
    for (const Weight weight : {Weight::slight, Weight::audible, Weight::severe})
        CHECK(read("lost", std::string(weight_name(weight)), "louder"));
    for (const CautionKind kind : {CautionKind::louder, CautionKind::feedback, CautionKind::level_unknown})
        CHECK(read("lost", "slight", std::string(caution_key(kind))));
}
