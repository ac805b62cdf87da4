// Which older copies there are, and what is known of them.
#include "refit/older.h"

#include "compat/case_file.h"
#include "refit/refit.h"
#include "support/catch.h"

using namespace downfit;
using namespace downfit::testing;

namespace {

/// 2.0 kept the stamp of 1.9, and stores the mix upside down.
CaseFile of_shared_stamp() {
    return case_from(R"(== device
{ "format": "downfit device 1", "device": "wren", "title": "Wren", "maker": "Quillfeather",
  "releases": [ { "release": "1.9", "stamp": 2 }, { "release": "2.0", "stamp": 2 } ],
  "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 09 {slot} {stamp} {data...} F7" } }, "preset": ["preset"],
               "body": { "size": 4 } } } }
== release 1.9
"parameters": {
  "mix": { "at": 0, "range": [0, 100], "scale": { "stored": [0, 100], "value": [0, 100] } },
  "tone": { "at": 1, "range": [0, 100] },
  "depth": { "at": 2, "range": [0, 100] } }
== release 2.0
"extends": "1.9",
"parameters": {
  "mix": { "scale": { "stored": [0, 100], "value": [100, 0] } },
  "depth": { "at": 3 } }
)",
                     "older_test");
}

}  // namespace

TEST_CASE("of an older copy nothing is known that releases with its stamp store otherwise", "[refit][older]") {
    const CaseFile file = of_shared_stamp();
    const Bytes bytes = {0xF0, 0x7D, 0x09, 0x00, 0x02, 30, 70, 5, 6, 0xF7};
    const auto dump = dump::read("older.syx", bytes, file.device);
    REQUIRE(dump);
    const std::vector<refit::OlderDump> older = {{&dump.value()}};
    compat::CheckOptions options;
    compat::PresetCheck preset;
    preset.slot = dump::shown_slot(file.device, dump.value().entries.front());
    const auto known = [&](const std::string& id) {
        refit::OlderCopies copies(file.device, older, options);
        const refit::OlderCopy copy = copies.copy_of(preset, 0, true);
        REQUIRE(copy.preset != nullptr);
        for (std::size_t i = 0; i < copy.release->fields().size(); ++i) {
            if (copy.release->fields()[i].field->id == id) return copy.preset->fields[i].known;
        }
        FAIL(id);
        return false;
    };
    CHECK(!known("mix"));
    CHECK(known("tone"));
    CHECK(!known("depth"));
    SECTION("unless it is said which of them saved it") {
        options.saved_on = 1;
        CHECK(known("mix"));
        CHECK(known("depth"));
    }
}

TEST_CASE("older copies are counted by the layouts that are asked for", "[refit][older]") {
    const CaseFile file = of_shared_stamp();
    const Bytes bytes = {0xF0, 0x7D, 0x09, 0x00, 0x02, 30, 70, 5, 6, 0xF7};
    const auto dump = dump::read("older.syx", bytes, file.device);
    REQUIRE(dump);
    const std::vector<refit::OlderDump> older = {{&dump.value()}, {&dump.value()}};
    const compat::CheckOptions options;
    const refit::OlderCopies copies(file.device, older, options);
    CHECK(copies.offered({0}) == std::vector<std::size_t>{1, 1});
    CHECK(copies.offered({1}) == std::vector<std::size_t>{0, 0});
}
