// The smallest set of moves against a search that tries every combination, written for this test alone; and by hand.
#include <cstdint>
#include <random>
#include <set>
#include <vector>

#include "rig/plan.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using rig::Plan;
using rig::PlannedMove;
using rig::PlanOption;
using rig::PlanUnit;

/// "110": songs 0 and 1.
std::vector<bool> songs(const std::string& text) {
    std::vector<bool> list;
    for (const char c : text) list.push_back(c == '1');
    return list;
}

/// What the best of all combinations comes to.
struct Best {
    std::size_t served = 0, moves = 0;
    std::int64_t worth = 0;
    bool found = false;
};

/// Counts through all combinations like an odometer: digit 0 of a unit is to stay.
Best try_everything(const std::vector<PlanUnit>& units, std::size_t count) {
    Best best;
    std::vector<std::size_t> digits(units.size(), 0);
    while (true) {
        std::set<std::size_t> served;
        std::size_t moves = 0;
        std::int64_t worth = 0;
        for (std::size_t u = 0; u < units.size(); ++u) {
            const PlanOption& option = digits[u] == 0 ? units[u].stay : units[u].moves[digits[u] - 1];
            if (digits[u] != 0) ++moves;
            worth += option.worth;
            for (std::size_t s = 0; s < count; ++s) {
                if (option.songs[s]) served.insert(s);
            }
        }
        bool wins = !best.found || served.size() > best.served;
        if (best.found && served.size() == best.served) {
            wins = moves < best.moves || (moves == best.moves && worth > best.worth);
        }
        if (wins) best = {served.size(), moves, worth, true};
        std::size_t u = 0;
        while (u < units.size() && ++digits[u] > units[u].moves.size()) digits[u++] = 0;
        if (u == units.size()) return best;
    }
}

/// What a plan comes to, counted from the options themselves.
Best outcome_of(const Plan& plan, const std::vector<PlanUnit>& units, std::size_t count) {
    Best best;
    best.found = true;
    best.moves = plan.moves.size();
    std::set<std::size_t> served;
    for (std::size_t u = 0; u < units.size(); ++u) {
        const PlanOption* option = &units[u].stay;
        for (const PlannedMove& move : plan.moves) {
            if (move.unit == u) option = &units[u].moves[move.move];
        }
        best.worth += option->worth;
        for (std::size_t s = 0; s < count; ++s) {
            if (option->songs[s]) served.insert(s);
        }
    }
    best.served = served.size();
    return best;
}

PlanOption random_option(std::mt19937& random, std::size_t count, unsigned density, bool worth) {
    PlanOption option;
    for (std::size_t s = 0; s < count; ++s) option.songs.push_back(random() % 100 < density);
    if (worth) option.worth = static_cast<std::int64_t>(random() % 7) - 3;
    return option;
}

}  // namespace

TEST_CASE("plan: nothing to do where every song is played already", "[rig]") {
    const std::vector<PlanUnit> units{{{songs("110"), 0}, {{songs("111"), 5}}}, {{songs("001"), 0}, {}}};
    const Plan plan = rig::smallest_plan(units, 3);
    CHECK(plan.moves.empty());
    CHECK(plan.beyond.empty());
    CHECK(plan.missed.empty());
    CHECK(plan.exact);
}

TEST_CASE("plan: one move that serves all beats two that are worth more", "[rig]") {
    const std::vector<PlanUnit> units{
        {{songs("100"), 0}, {{songs("110"), 9}, {songs("111"), -4}}},
        {{songs("100"), 0}, {{songs("001"), 9}}},
    };
    const Plan plan = rig::smallest_plan(units, 3);
    CHECK(plan.moves == std::vector<PlannedMove>{{0, 1}});
    CHECK(plan.worth == -4);
}

TEST_CASE("plan: what a move loses counts, and a song that nobody can play is told", "[rig]") {
    // Moving unit 0 loses song 0, which nobody else plays: so unit 1 moves.
    const std::vector<PlanUnit> units{{{songs("1000"), 0}, {{songs("0110"), 2}}},
                                      {{songs("0000"), 0}, {{songs("0110"), 1}}}};
    const Plan plan = rig::smallest_plan(units, 4);
    CHECK(plan.moves == std::vector<PlannedMove>{{1, 0}});
    CHECK(plan.beyond == std::vector<std::size_t>{3});
    CHECK(plan.missed.empty());
}

TEST_CASE("plan: songs that only one unit plays, on different releases, cannot both be had", "[rig]") {
    const std::vector<PlanUnit> units{{{songs("000"), 0}, {{songs("100"), 0}, {songs("011"), 0}}}};
    const Plan plan = rig::smallest_plan(units, 3);
    CHECK(plan.moves == std::vector<PlannedMove>{{0, 1}});
    CHECK(plan.beyond.empty());
    CHECK(plan.missed == std::vector<std::size_t>{0});
    CHECK(plan.exact);
}

TEST_CASE("plan: among equals the one worth most, then the earlier unit", "[rig]") {
    const std::vector<PlanUnit> worth{{{songs("0"), 0}, {{songs("1"), 1}}}, {{songs("0"), 0}, {{songs("1"), 2}}}};
    CHECK(rig::smallest_plan(worth, 1).moves == std::vector<PlannedMove>{{1, 0}});
    const std::vector<PlanUnit> same{{{songs("0"), 0}, {{songs("1"), 2}}}, {{songs("0"), 0}, {{songs("1"), 2}}}};
    CHECK(rig::smallest_plan(same, 1).moves == std::vector<PlannedMove>{{0, 0}});
}

TEST_CASE("plan: the smallest set is that of trying every combination", "[rig]") {
    std::mt19937 random(20260611);
    std::size_t with_moves = 0, impossible = 0;
    for (int round = 0; round < 1500; ++round) {
        const std::size_t count = 1 + random() % 7;
        std::vector<PlanUnit> units(1 + random() % 5);
        const auto density = static_cast<unsigned>(5 + random() % 45);
        for (PlanUnit& unit : units) {
            unit.stay = random_option(random, count, density / 2, false);
            for (std::size_t i = random() % 5; i > 0; --i)
                unit.moves.push_back(random_option(random, count, density, true));
        }
        const Plan plan = rig::smallest_plan(units, count);
        const Best best = try_everything(units, count);
        const Best got = outcome_of(plan, units, count);
        CAPTURE(round);
        REQUIRE(plan.exact);
        REQUIRE(got.served == best.served);
        REQUIRE(got.moves == best.moves);
        REQUIRE(got.worth == best.worth);
        REQUIRE(plan.worth == best.worth);
        REQUIRE(got.served + plan.beyond.size() + plan.missed.size() == count);
        if (best.moves > 1) ++with_moves;
        if (!plan.missed.empty()) ++impossible;
    }
    CHECK(with_moves > 100);
    CHECK(impossible > 20);
}

TEST_CASE("plan: twelve units on twelve releases with forty songs are still exact", "[rig]") {
    std::mt19937 random(12);
    for (const unsigned density : {8u, 20u, 50u}) {
        std::vector<PlanUnit> units(12);
        for (PlanUnit& unit : units) {
            unit.stay = random_option(random, 40, density / 2, false);
            for (int i = 0; i < 11; ++i) {
                // Later releases play what earlier ones do and more, as it mostly is.
                PlanOption next = random_option(random, 40, density / 2, true);
                const PlanOption& before = i == 0 ? unit.stay : unit.moves.back();
                for (std::size_t s = 0; s < 40; ++s) next.songs[s] = next.songs[s] || before.songs[s];
                unit.moves.push_back(std::move(next));
            }
        }
        CAPTURE(density);
        CHECK(rig::smallest_plan(units, 40).exact);
    }
}

TEST_CASE("plan: where too much would have to be held, a good guess that says so", "[rig]") {
    std::mt19937 random(7);
    std::vector<PlanUnit> units(7);
    for (PlanUnit& unit : units) {
        unit.stay = random_option(random, 30, 2, false);
        for (int i = 0; i < 6; ++i) unit.moves.push_back(random_option(random, 30, 15, true));
    }
    const Plan exact = rig::smallest_plan(units, 30, 2'000'000);
    const Plan guess = rig::smallest_plan(units, 30, 10);
    CHECK(!guess.exact);
    const Best best = outcome_of(exact, units, 30), got = outcome_of(guess, units, 30);
    CHECK(got.served <= best.served);
    CHECK(got.served + guess.beyond.size() + guess.missed.size() == 30);
    CHECK(got.served * 10 >= best.served * 7);
}

}  // namespace downfit::testing
