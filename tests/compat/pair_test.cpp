// A pair of releases whose preset was written anew for the one that loads it.
#include "compat/pair.h"

#include <string>

#include "compat/case_file.h"
#include "compat/check.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::testing;

TEST_CASE("pair: what was written for a release is its own, and hides nothing of the one that saved it") {
    const CaseFile file = case_from(R"(== release 1.0
"parameters": { "tone": { "at": 0, "range": [0, 100], "neutral": 0 } }
== release 2.0
"parameters": { "drive": { "at": 0, "range": [0, 100], "neutral": 0 } }
== release 3.0
"extends": "2.0"
== body saved 2.0
40 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00
== body written 1.0
20 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00
)",
                                    "pair_test");
    const auto saved = dump::read("saved.syx", file.dumps.at("saved"), file.device);
    const auto written = dump::read("written.syx", file.dumps.at("written"), file.device);
    REQUIRE(saved.ok());
    REQUIRE(written.ok());
    compat::CheckOptions options;
    options.targets = {0};
    compat::Checker checker(file.device, options);
    const auto told = [](const compat::PresetCheck& preset) { return compact_text(preset.targets.at(0)); };
    const dump::Entry& entry = saved.value().entries.at(0);
    CHECK(told(checker.check(entry)) ==
          "altered\ndrive lost audible sounding: 64 -> -\ntone displaced audible sounding: - -> 64\n");
    CHECK(told(checker.check_rewritten(entry, nullptr, written.value().entries.at(0), nullptr, 0)) ==
          "altered\ndrive lost audible sounding: 64 -> -\ntone added audible sounding: - -> 32\n");
}
