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

TEST_CASE("matching: slot 0 is a slot like any other", "[compat]") {
    const std::vector<Matchable> first{preset(0, "Ebb"), preset(1, "Flow")};
    const std::vector<Matchable> second{preset(1, "Flow"), preset(0, "Slack")};
    CHECK(match_presets(first, second).by == MatchBy::slot);
    CHECK(pairs(match_presets(first, second)) == "0=1 1=0");
    const std::vector<Matchable> twice{preset(0, "Ebb", "a.syx"), preset(0, "Flow", "b.syx")};
    const std::vector<Matchable> turned{preset(0, "Slack", "b.syx"), preset(0, "Neap", "a.syx")};
    CHECK(match_presets(twice, turned).by == MatchBy::file_and_slot);
    CHECK(pairs(match_presets(twice, turned)) == "0=1 1=0");
}

TEST_CASE("matching: one that is not numbered is enough for names", "[compat]") {
    const std::vector<Matchable> numbered{preset(1, "Ebb"), preset(2, "Flow")};
    const std::vector<Matchable> partly{preset(1, "Flow"), preset(-1, "Ebb")};
    CHECK(match_presets(numbered, partly).by == MatchBy::name);
    CHECK(pairs(match_presets(numbered, partly)) == "0=1 1=0");
    CHECK(match_presets(partly, numbered).by == MatchBy::name);
    const std::vector<Matchable> bare{preset(-1, "Flow"), preset(-1, "Ebb")};
    CHECK(match_presets(numbered, bare, MatchBy::slot).by == MatchBy::slot);
    // Asked for slots, what has none has no partner, not even another without.
    CHECK(pairs(match_presets(partly, partly, MatchBy::slot)) == "0=0 1=- -=1");
}

TEST_CASE("matching: alone is one against one, and nothing else", "[compat]") {
    const std::vector<Matchable> none{empty(1)}, one{preset(1, "Ebb")}, two{preset(2, "Flow"), preset(3, "Slack")};
    CHECK(match_presets(one, one).by == MatchBy::alone);
    CHECK(match_presets(one, two).by == MatchBy::slot);
    CHECK(match_presets(two, one).by == MatchBy::slot);
    CHECK(match_presets(one, none).by == MatchBy::slot);
    CHECK(match_presets(none, one).by == MatchBy::slot);
    CHECK(pairs(match_presets({empty(1), preset(2, "Ebb")}, {preset(9, "Flow")})) == "0=- 1=0");
    CHECK(pairs(match_presets(one, none, MatchBy::alone)) == "0=- -=0");
}

TEST_CASE("matching: asked for slots, repeated ones go by file too; asked for names, they do not matter", "[compat]") {
    const std::vector<Matchable> twice{preset(1, "Ebb", "b.syx"), preset(1, "Flow", "a.syx")};
    const std::vector<Matchable> plain{preset(1, "Flow", "a.syx"), preset(2, "Ebb", "a.syx")};
    CHECK(match_presets(twice, plain, MatchBy::slot).by == MatchBy::file_and_slot);
    CHECK(pairs(match_presets(twice, plain, MatchBy::slot)) == "0=- 1=0 -=1");
    CHECK(match_presets(plain, twice, MatchBy::slot).by == MatchBy::file_and_slot);
    CHECK(pairs(match_presets(plain, twice, MatchBy::slot)) == "0=1 1=- -=0");
    CHECK(match_presets(twice, twice, MatchBy::name).by == MatchBy::name);
    // A partner is taken once, though file and slot stand twice.
    const std::vector<Matchable> same{preset(1, "Ebb"), preset(1, "Flow")}, other{preset(1, "Ebb"), preset(2, "Flow")};
    CHECK(pairs(match_presets(same, other)) == "0=0 1=- -=1");
}

TEST_CASE("matching: of one name the same slot comes first, whatever stands before it", "[compat]") {
    const auto by_name = [](const std::vector<Matchable>& first, const std::vector<Matchable>& second) {
        return pairs(match_presets(first, second, MatchBy::name));
    };
    CHECK(by_name({preset(1, "Init"), preset(2, "Init")}, {preset(2, "Init"), preset(1, "Init")}) == "0=1 1=0");
    CHECK(by_name({preset(2, "Init")}, {preset(3, "Init"), preset(2, "Init")}) == "0=1 -=0");
    CHECK(by_name({preset(2, "Init")}, {preset(1, "Init"), preset(2, "Init")}) == "0=1 -=0");
    // One that has its partner takes no other.
    CHECK(by_name({preset(1, "Init")}, {preset(1, "Init"), preset(2, "Init")}) == "0=0 -=1");
}

TEST_CASE("matching: names that stand several times on either side are counted, others not", "[compat]") {
    const std::vector<Matchable> once{preset(1, "Ebb"), preset(2, "Flow")};
    const std::vector<Matchable> twice{preset(1, "Ebb"), preset(2, "Flow"), preset(3, "Ebb")};
    CHECK(match_presets(once, once, MatchBy::name).shared_names == 0);
    CHECK(match_presets(twice, once, MatchBy::name).shared_names == 1);
    CHECK(match_presets(once, twice, MatchBy::name).shared_names == 1);
    CHECK(match_presets(twice, {preset(1, "Slack")}, MatchBy::name).shared_names == 0);
}

TEST_CASE("matching: what an empty slot is called, and an empty name, are no names", "[compat]") {
    Matchable left_over = empty(7);
    left_over.name = "Ebb";
    const std::vector<Matchable> with{preset(1, "Ebb"), left_over}, without{preset(2, "Ebb")};
    CHECK(pairs(match_presets({left_over}, without, MatchBy::name)) == "0=- -=0");
    CHECK(pairs(match_presets(without, {left_over}, MatchBy::name)) == "0=- -=0");
    CHECK(match_presets(with, without, MatchBy::name).shared_names == 0);
    CHECK(match_presets(without, with, MatchBy::name).shared_names == 0);
    CHECK(pairs(match_presets({preset(1, "")}, {preset(1, "")}, MatchBy::name)) == "0=- -=0");
    CHECK(match_presets({preset(1, ""), preset(2, "")}, {preset(3, "")}, MatchBy::name).shared_names == 0);
    // Nor is a name beside one of these another name.
    Matchable cut = preset(1, "Ferry Lights");
    cut.alias = "Ferry Li";
    CHECK(match_presets({preset(1, ""), preset(2, "Neap")}, {preset(1, "Flow"), preset(2, "Neap")}).other_names == 0);
    CHECK(match_presets({cut, preset(2, "Neap")}, {preset(1, ""), preset(2, "Neap")}).other_names == 0);
    CHECK(match_presets({preset(7, "Flow"), preset(1, "Neap")}, {left_over, preset(1, "Neap")}).other_names == 0);
    CHECK(match_presets({left_over, preset(1, "Neap")}, {preset(7, "Flow"), preset(1, "Neap")}).other_names == 0);
}

TEST_CASE("matching: nothing said, a preset is filled and not numbered", "[compat]") {
    Matchable first, second;
    first.name = second.name = "Ebb";
    const compat::Matching matching = match_presets({first, preset(1, "Flow")}, {preset(2, "Flow"), second});
    CHECK(matching.by == MatchBy::name);
    CHECK(pairs(matching) == "0=1 1=0");
}

TEST_CASE("matching: each way has a name", "[compat]") {
    CHECK(compat::match_name(MatchBy::slot) == "slot");
    CHECK(compat::match_name(MatchBy::file_and_slot) == "file-and-slot");
    CHECK(compat::match_name(MatchBy::name) == "name");
    CHECK(compat::match_name(MatchBy::alone) == "alone");
}

}  // namespace downfit::testing
