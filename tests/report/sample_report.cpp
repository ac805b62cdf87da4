#include "report/sample_report.h"

#include <limits>
#include <vector>

#include "report/ruling.h"

namespace downfit::report {

namespace {

using compat::Activity;
using compat::CautionKind;
using compat::Finding;
using compat::Outcome;
using compat::PresetCheck;
using compat::Shown;
using compat::TargetCheck;
using compat::Verdict;
using compat::Weight;

constexpr std::size_t on_200 = 0, on_210 = 1, on_300 = 2;

TargetCheck target(Verdict verdict) {
    TargetCheck check;
    check.release = on_210;
    check.saved_on = on_300;
    check.verdict = check.best = check.worst = verdict;
    check.stamped_later = true;
    check.parameters = 412;
    check.fingerprint = "fedcba9876543210";
    return check;
}

Finding finding(const std::string& parameter, Outcome outcome, Weight weight, Shown saved, Shown loaded,
                const std::string& rule) {
    Finding made;
    made.parameter = parameter;
    made.outcome = outcome;
    made.weight = made.best = weight;
    made.activity = Activity::sounding;
    made.saved = std::move(saved);
    made.loaded = std::move(loaded);
    made.saved_byte = made.loaded_byte = 76;
    made.saved_offset = made.loaded_offset = 1034;
    made.rule = rule;
    made.fingerprint = "0123456789abcdef";
    return made;
}

PresetReport preset(int slot, const std::string& name, TargetCheck check) {
    PresetReport made;
    made.check.entry = static_cast<std::size_t>(slot - 1);
    made.check.slot = slot;
    made.check.name = name;
    made.check.stamp = "768";
    made.check.saved_on = {on_300};
    made.check.targets.push_back(std::move(check));
    return made;
}

TargetCheck severe() {
    TargetCheck check = target(Verdict::altered);
    check.findings.push_back(finding("delay.alternate[1].time", Outcome::clamped, Weight::audible,
                                     {"2400", "2.4 s", compat::Reach{0.02, 4, 2.4}},
                                     {"2000", "2000 ms", compat::Reach{0.02, 2, 2}}, "out-of-range: clamp"));
    check.findings.push_back(finding("amp[1].alternate[2].model", Outcome::swapped, Weight::severe, {"14", "Crown 30"},
                                     {"14", "Crown 15"}, "another choice has this number"));
    check.findings.back().brought_by = "3.00";
    check.findings.push_back(
        finding("amp[1].alternate[2].bite", Outcome::lost, Weight::audible, {"40", "4"}, {}, "no such parameter"));
    check.findings.back().loaded.reset();
    check.findings.back().loaded_byte.reset();
    check.findings.back().loaded_offset.reset();
    check.findings.back().cause = 0;
    check.findings.push_back(finding("amp[1].alternate[2].bass", Outcome::rounded, Weight::none, {"55", "5.5"},
                                     {"55", "5.5"}, "off-step: round"));
    check.causes.push_back({compat::Cause::Kind::parameter, "amp[1].alternate[2].model", Weight::audible, 1});
    check.cautions.push_back({CautionKind::louder, "amp[1].level", 8.25});
    check.cautions.push_back({CautionKind::louder, "delay.level", std::numeric_limits<double>::infinity()});
    check.doubts.push_back({"pedal[1].target", "77", "no meaning on 3.00"});
    check.repairs.push_back("byte 30 is read as 0");
    return check;
}

TargetCheck undecided() {
    TargetCheck check = target(Verdict::undecided);
    check.best = Verdict::intact;
    check.worst = Verdict::altered;
    check.reason = "no rule is stated for: off-step";
    Finding unsure = finding("mod.alternate[1].rate", Outcome::unsure, Weight::audible, {"31", "3.1 Hz"},
                             {"31", "3.1 Hz"}, "no rule is stated");
    unsure.best = Weight::none;
    unsure.alternatives.push_back({"off-step: keep", Outcome::kept, Weight::none});
    unsure.alternatives.push_back({"off-step: round", Outcome::rounded, Weight::audible});
    check.findings.push_back(std::move(unsure));
    check.unsettled.push_back(schema::Rule::off_step);
    return check;
}

TargetCheck near() {
    TargetCheck check = target(Verdict::near);
    check.findings.push_back(
        finding("eq.band[3]", Outcome::rounded, Weight::slight, {"33", "3.3 dB"}, {"30", "3 dB"}, "off-step: round"));
    return check;
}

PresetReport damaged() {
    PresetReport made = preset(6, "", target(Verdict::undecided));
    made.check.state = dump::SlotState::damaged;
    made.check.targets[0].reason = "damaged: the check sum-7-complement differs";
    made.damage.push_back({BytePlace{"banks/a.syx", 9000, 1, 5}, "the check sum-7-complement differs", "0x2F", ""});
    return made;
}

}  // namespace

const schema::Device& sample_device() {
    static const schema::Device device = [] {
        schema::Device made;
        made.name = "wren";
        made.title = "Wren";
        made.maker = "Quillfeather";
        made.file = "schemas/wren/device.json";
        made.digest = std::string(64, 'a');
        for (const char* name : {"2.00", "2.10", "3.00"}) made.releases.push_back({name, {}, {}, "", {}});
        return made;
    }();
    return device;
}

CheckReport sample_report() {
    CheckReport report;
    report.device = &sample_device();
    report.version = "0.0.0";
    report.targets = {on_210};
    report.again = " --schemas 'my schemas'";
    report.files.push_back({"banks/a.syx", std::string(64, 'b'), {"presets"}, {9, 10, 11}, {12}, {}, {}});
    report.files.push_back({"settings.syx", std::string(64, 'c'), {"unit-settings"}, {}, {}, {}, {}});
    report.presets.push_back(preset(1, "Tide Clean", target(Verdict::intact)));
    report.presets.push_back(preset(2, "Ferry Lights", severe()));
    report.presets.push_back(preset(3,
                                    "\x1B[31mred\xE2\x80\xAE"
                                    "evil",
                                    near()));
    report.presets.push_back(preset(4, "Slow Harbour", undecided()));
    TargetCheck refused = target(Verdict::refused);
    refused.reason = "2.10 takes no slot above 4";
    report.presets.push_back(preset(5, "Long Tide", refused));
    report.presets.push_back(damaged());
    report.presets.push_back(preset(7, "Quay Crunch", target(Verdict::intact)));
    report.presets.push_back(preset(8, "Half Past", target(Verdict::intact)));
    report.unexplained.push_back({"3.00", 12, 2, 8, 96, 0});
    report.leaning.push_back({"impulse-response", "impulse response", 3});
    rule(report, {}, {});
    return report;
}

CheckReport sample_hostile_report() {
    static const std::vector<std::string> names{"a|b",
                                                "<script>alert(1)</script>",
                                                "`code`",
                                                "*bold* _it_ ~~x~~",
                                                "[link](http://example.com)",
                                                "![i](x)",
                                                "&amp;&lt;",
                                                "http://example.com",
                                                "www.example.com",
                                                "@everyone",
                                                "#1",
                                                "line\nbreak",
                                                "=1+1",
                                                "+1",
                                                "-1",
                                                "@SUM(A1)",
                                                "\tx",
                                                "'=1",
                                                "\"quoted\"",
                                                "a,b;c",
                                                "{0} {x}",
                                                "](",
                                                "\\",
                                                "x\xFF",
                                                "\xEF\xBF\xBE",
                                                "$x$",
                                                ":smile:",
                                                "| --- |",
                                                "<!-- -->",
                                                "a@example.com",
                                                "\x1B[31m",
                                                "\xE2\x80\xAE"
                                                "evil",
                                                "]]>",
                                                "&#10;",
                                                "[^1]",
                                                "- [ ] x"};
    CheckReport report = sample_report();
    report.files.front().file = "banks/=a|<b>.syx";
    report.presets.clear();
    int slot = 1;
    for (const std::string& name : names) {
        TargetCheck check = near();
        check.findings.front().saved = Shown{name, name};
        check.findings.front().rule = name;
        report.presets.push_back(preset(slot++, name, std::move(check)));
    }
    rule(report, {}, {});
    return report;
}

CheckReport sample_report_on_all() {
    CheckReport report = sample_report();
    report.targets = {on_200, on_210, on_300};
    report.all_releases = true;
    for (PresetReport& one : report.presets) {
        TargetCheck there = one.check.targets[0];
        TargetCheck older = there;
        older.release = on_200;
        there.release = on_300;
        there.stamped_later = false;
        if (one.check.state != dump::SlotState::damaged) there.verdict = there.best = there.worst = Verdict::intact;
        there.findings.clear();
        there.cautions.clear();
        there.causes.clear();
        if (one.check.slot == 1) older = severe(), older.release = on_200;
        const bool safe = one.check.targets[0].verdict <= Verdict::near;
        one.check.targets.insert(one.check.targets.begin(), std::move(older));
        one.check.targets.push_back(std::move(there));
        one.check.intact = compat::Floor{safe ? on_210 : on_300, {}};
        one.check.near = compat::Floor{safe ? on_210 : on_300, {}};
    }
    rule(report, {}, {});
    return report;
}

}  // namespace downfit::report
