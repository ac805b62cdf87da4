#include "rig/plan.h"

#include <algorithm>
#include <map>
#include <optional>

namespace downfit::rig {

namespace {

/// A set of songs.
using Songs = std::vector<bool>;

constexpr std::size_t stays = static_cast<std::size_t>(-1);

Songs joined(Songs a, const Songs& b) {
    for (std::size_t i = 0; i < a.size(); ++i) a[i] = a[i] || b[i];
    return a;
}

bool holds_all(const Songs& all, const Songs& part) {
    for (std::size_t i = 0; i < part.size(); ++i) {
        if (part[i] && !all[i]) return false;
    }
    return true;
}

std::size_t count(const Songs& songs) {
    return static_cast<std::size_t>(std::count(songs.begin(), songs.end(), true));
}

/// What a unit may do, as far as the search must tell it apart.
struct Choice {
    std::size_t move = stays;
    Songs songs;  ///< of those that can be served at all
    std::int64_t worth = 0;
};

/// A way to decide about the first units.
struct Way {
    std::size_t moves = 0;
    std::int64_t worth = 0;
    std::vector<std::size_t> chosen;  ///< one a unit: a move or `stays`
};

/// Whether `a` is to be preferred, both serving the same songs.
bool better(const Way& a, const Way& b) {
    if (a.moves != b.moves) return a.moves < b.moves;
    if (a.worth != b.worth) return a.worth > b.worth;
    return a.chosen < b.chosen;
}

/// Without moves that another one, or staying, beats in everything.
std::vector<Choice> choices_of(const PlanUnit& unit) {
    std::vector<Choice> all{{stays, unit.stay.songs, unit.stay.worth}};
    for (std::size_t i = 0; i < unit.moves.size(); ++i) {
        const PlanOption& option = unit.moves[i];
        const auto beaten_by = [&](std::size_t move, const PlanOption& other) {
            if (!holds_all(other.songs, option.songs) || other.worth < option.worth) return false;
            const bool same = other.songs == option.songs && other.worth == option.worth;
            return move == stays || !same || move < i;
        };
        bool beaten = beaten_by(stays, unit.stay);
        for (std::size_t other = 0; other < unit.moves.size() && !beaten; ++other)
            beaten = other != i && beaten_by(other, unit.moves[other]);
        if (!beaten) all.push_back({i, option.songs, option.worth});
    }
    return all;
}

/// Finds the best way unit by unit: for each set of songs served so far only the best way to it is kept.
class Search {
public:
    Search(const std::vector<PlanUnit>& units, std::size_t songs, std::size_t most) : most_(most), wanted_(songs) {
        for (const PlanUnit& unit : units) {
            units_.push_back(choices_of(unit));
            for (const Choice& choice : units_.back()) wanted_ = joined(wanted_, choice.songs);
        }
        // What the units from one on can serve at most, moving or not.
        reach_.assign(units_.size() + 1, Songs(songs));
        for (std::size_t unit = units_.size(); unit-- > 0;) {
            reach_[unit] = reach_[unit + 1];
            for (const Choice& choice : units_[unit]) reach_[unit] = joined(reach_[unit], choice.songs);
        }
    }

    [[nodiscard]] const Songs& wanted() const { return wanted_; }

    /// The best way, or nothing where more than `most` would have to be held.
    [[nodiscard]] std::optional<Way> exact() const {
        // First in the hope that all can be served, which cuts most ways short; a good guess cuts more.
        const Way guess = greedy();
        const Bounds guessed{count(served(guess)), guess.moves};
        const Bounds all{count(wanted_), guessed.songs == count(wanted_) ? guess.moves : units_.size()};
        for (const Bounds& bounds : {all, guessed}) {
            const auto ways = run(bounds);
            if (!ways) return std::nullopt;
            if (!ways->empty()) return best_of(*ways);
        }
        return std::nullopt;
    }

    /// A good way: move by move the one that serves most songs that are not served yet, and is worth most.
    [[nodiscard]] Way greedy() const {
        Way way;
        for (const std::vector<Choice>& choices : units_) {
            way.chosen.push_back(stays);
            way.worth += choices.front().worth;
        }
        for (std::size_t steps = 0; steps < units_.size(); ++steps) {
            const std::size_t now = count(served(way));
            std::optional<Way> best;
            std::size_t most = now;
            for (std::size_t unit = 0; unit < units_.size(); ++unit) {
                if (way.chosen[unit] != stays) continue;
                for (const Choice& choice : units_[unit]) {
                    Way moved = way;
                    moved.chosen[unit] = choice.move;
                    moved.worth += choice.worth - units_[unit].front().worth;
                    if (choice.move != stays) ++moved.moves;
                    const std::size_t then = count(served(moved));
                    if (then < most || (then == most && (!best || !better(moved, *best)))) continue;
                    most = then;
                    best = std::move(moved);
                }
            }
            if (!best) break;
            way = *std::move(best);
        }
        return way;
    }

    [[nodiscard]] Songs served(const Way& way) const {
        Songs songs(wanted_.size());
        for (std::size_t unit = 0; unit < units_.size(); ++unit) {
            for (const Choice& choice : units_[unit]) {
                if (choice.move == way.chosen[unit]) songs = joined(std::move(songs), choice.songs);
            }
        }
        return songs;
    }

private:
    struct Bounds {
        std::size_t songs = 0;  ///< ways that cannot serve so many are of no use
        std::size_t moves = 0;  ///< nor are those that serve no more and need more moves
    };
    using Ways = std::map<Songs, Way>;

    /// All ways worth keeping, by what they serve; nothing where they are too many.
    [[nodiscard]] std::optional<Ways> run(const Bounds& bounds) const {
        Ways ways{{Songs(wanted_.size()), Way{}}};
        for (std::size_t unit = 0; unit < units_.size(); ++unit) {
            Ways next;
            for (const auto& [served, way] : ways) {
                for (const Choice& choice : units_[unit]) add(served, way, choice, unit, bounds, next);
                if (next.size() > most_) return std::nullopt;
            }
            ways = std::move(next);
        }
        return ways;
    }

    [[nodiscard]] static Way best_of(const Ways& ways) {
        const auto* best = &*ways.begin();
        for (const auto& one : ways) {
            const std::size_t most = count(best->first);
            const std::size_t songs = count(one.first);
            if (songs > most || (songs == most && better(one.second, best->second))) best = &one;
        }
        return best->second;
    }

    void add(const Songs& served, const Way& way, const Choice& choice, std::size_t unit, const Bounds& bounds,
             Ways& next) const {
        Songs songs = joined(served, choice.songs);
        const std::size_t at_most = count(joined(songs, reach_[unit + 1]));
        const std::size_t moves = way.moves + (choice.move == stays ? 0 : 1);
        if (at_most < bounds.songs || (at_most == bounds.songs && moves > bounds.moves)) return;
        Way longer = way;
        longer.moves = moves;
        longer.worth += choice.worth;
        longer.chosen.push_back(choice.move);
        const auto at = next.find(songs);
        if (at == next.end()) {
            next.emplace(std::move(songs), std::move(longer));
        } else if (better(longer, at->second)) {
            at->second = std::move(longer);
        }
    }

    std::size_t most_;
    std::vector<std::vector<Choice>> units_;
    Songs wanted_;
    std::vector<Songs> reach_;
};

}  // namespace

Plan smallest_plan(const std::vector<PlanUnit>& units, std::size_t songs, std::size_t most) {
    const Search search(units, songs, most);
    std::optional<Way> way = search.exact();
    Plan plan;
    plan.exact = way.has_value();
    if (!way) way = search.greedy();
    plan.worth = way->worth;
    for (std::size_t unit = 0; unit < units.size(); ++unit) {
        if (way->chosen[unit] != stays) plan.moves.push_back({unit, way->chosen[unit]});
    }
    const Songs served = search.served(*way);
    for (std::size_t song = 0; song < songs; ++song) {
        if (!search.wanted()[song]) plan.beyond.push_back(song);
        if (search.wanted()[song] && !served[song]) plan.missed.push_back(song);
    }
    return plan;
}

}  // namespace downfit::rig
