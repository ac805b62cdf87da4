// The words that JSON reports are made of against those that their schemas in schemas/format/ list: none more, none
// fewer.
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "compat/compare.h"
#include "compat/outcome.h"
#include "report/byte_map.h"
#include "report/coverage.h"
#include "rig/judge_rig.h"
#include "rig/moves.h"
#include "schema/faults.h"
#include "study/change.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"

using namespace downfit;

namespace {

using Words = std::set<std::string>;

/// The enumeration at a JSON Pointer of a schema; null is left out.
Words listed(const std::string& schema, const std::string& pointer) {
    const auto path = testing::project_folder() / "schemas" / "format" / (schema + ".schema.json");
    const auto read = nlohmann::json::parse(testing::read_text(path));
    Words words;
    for (const auto& word : read.at(nlohmann::json::json_pointer(pointer + "/enum"))) {
        if (!word.is_null()) words.insert(word.get<std::string>());
    }
    return words;
}

/// The names of the first `count` values of an enumeration.
template <typename Enum, typename Name>
Words named(std::size_t count, Name name) {
    Words words;
    for (std::size_t i = 0; i < count; ++i) words.insert(std::string(name(static_cast<Enum>(i))));
    return words;
}

}  // namespace

TEST_CASE("schemas of JSON reports list the words that the program has") {
    Words outcomes, faults;
    for (const compat::OutcomeRow& row : compat::outcome_table()) outcomes.insert(std::string(row.name));
    CHECK(listed("report", "/$defs/outcome") == outcomes);
    CHECK(listed("changes", "/$defs/outcome") == outcomes);
    CHECK(listed("changes", "/$defs/way/properties/effect") ==
          named<study::Effect>(study::effect_count, study::effect_name));
    CHECK(listed("changes", "/$defs/change/properties/kind") ==
          named<study::ChangeKind>(study::kind_count, [](study::ChangeKind kind) { return study::row_of(kind).name; }));
    for (const schema::FaultRow& row : schema::fault_table()) faults.insert(std::string(row.name));
    CHECK(listed("schema-proof", "/$defs/flaw/properties/fault") == faults);
    CHECK(listed("rig-report", "/$defs/play") == named<rig::Play>(rig::play_count, rig::play_name));
    CHECK(listed("rig-report", "/$defs/song/properties/served") ==
          named<rig::Served>(rig::served_count, rig::served_name));
    Words barriers = named<rig::Barrier>(5, rig::barrier_name);
    barriers.erase(std::string(rig::barrier_name(rig::Barrier::none)));  // null in JSON
    CHECK(listed("rig-report", "/$defs/move/properties/barrier") == barriers);
    CHECK(listed("schema-coverage", "/$defs/place/properties/look") ==
          named<study::Look>(study::look_count, [](study::Look look) { return report::row_of(look).word; }));
    CHECK(listed("compare", "/$defs/alike") == named<compat::Alike>(compat::alike_count, compat::alike_name));
}
