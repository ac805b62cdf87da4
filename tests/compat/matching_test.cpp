// Which preset belongs to which: every expectation worked out by hand.
#include "compat/matching.h"

#include <string>
#include <vector>

#include "support/catch.h"

namespace downfit::testing {

namespace {

using compat::match_presets;
using compat::Matchable;
using compat::MatchBy;
using dump::SlotState;

Matchable preset(int slot, const std::string& name, const std::string& file = "a.syx") {
    return {file, slot, name, {}, SlotState::filled};
}

Matchable empty(int slot) {
    return {"a.syx", slot, {}, {}, SlotState::empty};
}

/// "0=1 1=- -=0": pairs of indices, a dash for none.
std::string pairs(const compat::Matching& matching) {
    std::string text;
    const auto index = [](const std::optional<std::size_t>& one) { return one ? std::to_string(*one) : "-"; };
    for (const compat::Match& match : matching.matches)
        text += (text.empty() ? "" : " ") + index(match.first) + '=' + index(match.second);
    return text;
}

}  // namespace

TEST_CASE("matching: by slot where both number all slots", "[compat]") {
    const std::vector<Matchable> first{preset(1, "Ebb"), preset(2, "Flow"), preset(5, "Slack")};
    const std::vector<Matchable> second{preset(5, "Slack"), preset(2, "Neap"), preset(3, "Ebb")};
    const compat::Matching matching = match_presets(first, second);
    CHECK(matching.by == MatchBy::slot);
    CHECK(pairs(matching) == "0=- 1=1 2=0 -=2");
    CHECK(matching.other_names == 1);
    CHECK(pairs(match_presets(first, second, MatchBy::name)) == "0=2 1=- 2=0 -=1");
}

TEST_CASE("matching: empty slots belong to slots, not to names", "[compat]") {
    const std::vector<Matchable> first{preset(1, "Ebb"), empty(2), preset(3, "Flow")};
    const std::vector<Matchable> second{empty(1), empty(2), preset(3, "Flow"), preset(4, "Ebb")};
    CHECK(pairs(match_presets(first, second)) == "0=0 1=1 2=2 -=3");
    CHECK(match_presets(first, second).other_names == 0);
    CHECK(pairs(match_presets(first, second, MatchBy::name)) == "0=3 1=- 2=2 -=0 -=1");
}

TEST_CASE("matching: by name where a slot is not numbered", "[compat]") {
    const std::vector<Matchable> first{preset(1, "Ebb"), preset(2, "Flow")};
    const std::vector<Matchable> second{preset(-1, "Flow"), preset(-1, "Ebb")};
    const compat::Matching matching = match_presets(first, second);
    CHECK(matching.by == MatchBy::name);
    CHECK(pairs(matching) == "0=1 1=0");
    // Asked for slots that are not there, nothing is taken for a match.
    CHECK(pairs(match_presets(first, second, MatchBy::slot)) == "0=- 1=- -=0 -=1");
}

TEST_CASE("matching: one name several times is told, and the slot decides, then the order", "[compat]") {
    const std::vector<Matchable> first{preset(1, "Init"), preset(2, "Init"), preset(3, "Init"), preset(4, "Ebb")};
    const std::vector<Matchable> second{preset(7, "Init"), preset(2, "Init"), preset(4, "Ebb")};
    const compat::Matching matching = match_presets(first, second, MatchBy::name);
    CHECK(pairs(matching) == "0=0 1=1 2=- 3=2");
    CHECK(matching.shared_names == 1);
}

TEST_CASE("matching: a name that a release shortens is the same name", "[compat]") {
    std::vector<Matchable> first{preset(1, "Ferry Lights"), preset(2, "Flow")};
    first[0].alias = "Ferry Li";
    const std::vector<Matchable> second{preset(-1, "Flow"), preset(-1, "Ferry Li")};
    CHECK(pairs(match_presets(first, second)) == "0=1 1=0");
    const std::vector<Matchable> numbered{preset(1, "Ferry Li"), preset(2, "Flow")};
    CHECK(match_presets(first, numbered).other_names == 0);
}

TEST_CASE("matching: the same slot in several files goes by the file's name", "[compat]") {
    const std::vector<Matchable> first{preset(1, "Ebb", "a.syx"), preset(1, "Flow", "b.syx")};
    const std::vector<Matchable> second{preset(1, "Flow", "b.syx"), preset(1, "Ebb", "a.syx"),
                                        preset(1, "Slack", "c.syx")};
    const compat::Matching matching = match_presets(first, second);
    CHECK(matching.by == MatchBy::file_and_slot);
    CHECK(pairs(matching) == "0=1 1=0 -=2");
}

TEST_CASE("matching: one preset against one belongs together", "[compat]") {
    const compat::Matching matching =
        match_presets({preset(3, "Ebb"), empty(4)}, {empty(1), preset(-1, "Edit buffer")});
    CHECK(matching.by == MatchBy::alone);
    CHECK(pairs(matching) == "0=1 1=- -=0");
    CHECK(pairs(match_presets({preset(3, "Ebb")}, {preset(4, "Ebb")}, MatchBy::slot)) == "0=- -=0");
    CHECK(match_presets({}, {}).matches.empty());
}

}  // namespace downfit::testing
