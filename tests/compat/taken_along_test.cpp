// Refusals that take the whole dump along: which devices know them, what becomes of the other presets.
#include <string>
#include <utility>

#include "compat/case_file.h"
#include "compat/taken_along.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::testing;
using compat::PresetCheck;
using compat::TakenAlong;
using compat::TargetCheck;
using compat::Verdict;

namespace {

bool may_refuse(const std::string& text) {
    return compat::may_refuse_dumps(case_from(text, "taken_along_test").device);
}

/// A release 1.0 with these members and a newer one that says nothing of refusals.
std::string oldest(const std::string& members) {
    return "== rules\n\"newer-stamp\": \"load\"\n== release 1.0\n" + members +
           "\n== release 2.0\n\"parameters\": { \"drive\": { \"at\": 0 } }\n";
}

std::string drive(const std::string& rules) {
    return R"("parameters": { "drive": { "at": 0, "rules": { "out-of-range": "refuse")" + rules + " } } }";
}

TargetCheck intact() {
    TargetCheck check;
    check.verdict = check.best = check.worst = Verdict::intact;
    check.parameters = 3;
    return check;
}

TargetCheck refuses(bool dump = true) {
    TargetCheck check;
    check.verdict = check.best = check.worst = Verdict::refused;
    check.reason = "it is too new";
    check.refuses_dump = dump;
    return check;
}

TargetCheck may_refuse_it() {
    TargetCheck check = refuses();
    check.verdict = Verdict::undecided;
    check.best = Verdict::intact;
    check.reason = "no rule is stated";
    return check;
}

PresetCheck preset(int slot, TargetCheck first, TargetCheck second) {
    PresetCheck one;
    one.slot = slot;
    one.targets = {std::move(first), std::move(second)};
    return one;
}

std::string told(const TargetCheck& check) {
    const auto name = [](Verdict verdict) { return std::string(compat::verdict_name(verdict)); };
    return name(check.verdict) + ' ' + name(check.best) + ".." + name(check.worst) + ' ' + check.reason;
}

/// What is told of a preset on both targets, after `note` saw the others.
std::string told_of(const TakenAlong& along, PresetCheck one) {
    static const schema::Device none;
    along.apply(compat::Checker(none, {}), one);
    return told(one.targets[0]) + "; " + told(one.targets[1]);
}

}  // namespace

TEST_CASE("taken along: a device may refuse dumps where any refusal of any release says so") {
    CHECK_FALSE(may_refuse(oldest(drive(""))));
    CHECK_FALSE(may_refuse(oldest(drive(R"(, "refuses": "preset")"))));
    CHECK_FALSE(may_refuse(oldest(drive(R"(, "refuses": "block")"))));
    CHECK(may_refuse(oldest(drive(R"(, "refuses": "dump")"))));
    CHECK(may_refuse(oldest(R"("rules": { "refuses": "dump" }, "parameters": { "drive": { "at": 0 } })")));
    CHECK(may_refuse(oldest(
        R"("accepts": [ { "slot": { "at-most": 9 } }, { "bytes": { "at": 1, "are": "00" }, "refuses": "dump" } ],
           "parameters": { "drive": { "at": 0 } })")));
    CHECK_FALSE(
        may_refuse(oldest(R"("accepts": [ { "slot": { "at-most": 9 } } ], "parameters": { "drive": { "at": 0 } })")));
    CHECK(
        may_refuse("== rules\n\"refuses\": \"dump\"\n== release 1.0\n\"parameters\": { \"drive\": { \"at\": 0 } }\n"));
    // Of the newest release, whatever the oldest says.
    CHECK(may_refuse("== release 1.0\n\"parameters\": { \"drive\": { \"at\": 0 } }\n== release 2.0\n" +
                     drive(R"(, "refuses": "dump")")));
    // Without any release file nothing is known of refusals.
    CHECK_FALSE(compat::may_refuse_dumps(schema::Device()));
    schema::Device bare;
    bare.releases.resize(2);
    CHECK_FALSE(compat::may_refuse_dumps(bare));
}

TEST_CASE("taken along: a record's version may take the dump") {
    const auto device = [](const std::string& rules) {
        return R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather", "releases": ["1.0"],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
                           "body": { "records": { "head": ["id", "version", "length"] } } } } }
== release 1.0
"stamp": 1,
"groups": { "echo": { "kind": "block", "tag": 3, "version-at-most": 2)" +
               rules + R"( } }, "parameters": { "echo.mix": { "at": 0 } })" + '\n';
    };
    CHECK_FALSE(may_refuse(device("")));
    CHECK(may_refuse(device(R"(, "rules": { "refuses": "dump" })")));
}

TEST_CASE("taken along: one that refuses the dump takes the others, on that target only") {
    TakenAlong along;
    along.note(preset(1, intact(), intact()));
    along.note(preset(2, refuses(), intact()));
    along.note(preset(3, refuses(), refuses(false)));
    const std::string all = "refused refused..refused the whole dump is refused for slot 2: it is too new";
    CHECK(told_of(along, preset(1, intact(), intact())) == all + "; intact intact..intact ");
    CHECK(told_of(along, preset(4, may_refuse_it(), intact())) == all + "; intact intact..intact ");
    // What is refused for itself keeps its own reason.
    CHECK(told_of(along, preset(3, refuses(), refuses(false))) ==
          "refused refused..refused it is too new; refused refused..refused it is too new");
    CHECK(told_of(along, preset(5, refuses(false), intact())) ==
          "refused refused..refused it is too new; intact intact..intact ");
}

TEST_CASE("taken along: one that may refuse the dump leaves the others undecided, until another surely does") {
    TakenAlong along;
    along.note(preset(1, may_refuse_it(), intact()));
    along.note(preset(2, may_refuse_it(), intact()));
    CHECK(told_of(along, preset(3, intact(), intact())) ==
          "undecided intact..refused the whole dump may be refused for slot 1: no rule is stated; intact "
          "intact..intact ");
    // Each of those that may is undecided for itself.
    CHECK(told_of(along, preset(2, may_refuse_it(), intact())) ==
          "undecided intact..refused no rule is stated; intact intact..intact ");
    along.note(preset(3, refuses(), intact()));
    along.note(preset(4, may_refuse_it(), intact()));
    const std::string all = "refused refused..refused the whole dump is refused for slot 3: it is too new";
    CHECK(told_of(along, preset(1, may_refuse_it(), intact())) == all + "; intact intact..intact ");
    CHECK(told_of(along, preset(5, intact(), intact())) == all + "; intact intact..intact ");
}

TEST_CASE("taken along: what an empty slot would be is not asked") {
    TakenAlong along;
    along.note(preset(1, refuses(), intact()));
    PresetCheck empty;
    static const schema::Device none;
    along.apply(compat::Checker(none, {}), empty);
    CHECK(empty.targets.empty());
}
