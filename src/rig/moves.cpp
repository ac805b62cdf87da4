#include "rig/moves.h"

#include <algorithm>
#include <array>
#include <tuple>

namespace downfit::rig {

namespace {

constexpr std::array<std::string_view, 5> barrier_names{"none", "stays", "no-release-file", "hardware", "no-way-back"};

const schema::Variant* variant_of(const schema::Release& release, const std::string& name) {
    const auto at = std::ranges::find(release.variants, name, &schema::Variant::name);
    return at == release.variants.end() ? nullptr : &*at;
}

/// Whether a unit that runs `from` may go back to `to`: the oldest that `from` states is not later.
bool may_return(const schema::Device& device, std::size_t from, std::size_t to) {
    const auto& schema = device.releases[from].schema;
    if (to >= from || !schema || schema->returns_to.empty()) return true;
    const auto oldest = device.find_release(schema->returns_to);
    return !oldest || *oldest <= to;
}

Barrier barrier_of(const schema::RigUnit& unit, const schema::Device& device, std::size_t running, std::size_t to) {
    const auto& schema = device.releases[to].schema;
    if (!schema) return Barrier::no_schema;
    const schema::Variant* variant = variant_of(*schema, unit.variant);
    if (variant != nullptr && !variant->oldest_release.empty()) {
        const auto oldest = device.find_release(variant->oldest_release);
        if (oldest && to < *oldest) return Barrier::hardware;
    }
    if (!may_return(device, running, to)) return Barrier::no_way_back;
    return unit.stays ? Barrier::stays : Barrier::none;
}

class MoveFinder {
public:
    MoveFinder(const Material& material, const RigCheck& check) : material_(material), check_(check) {}

    Moves find(std::size_t most) {
        Moves moves;
        moves.served_now = served_with(material_.devices.size(), 0);
        for (std::size_t unit = 0; unit < material_.devices.size(); ++unit) {
            for (std::size_t release = 0; release < material_.devices[unit]->releases.size(); ++release) {
                if (release != check_.running[unit]) moves.all.push_back(move(unit, release));
            }
        }
        find_best(moves);
        find_plan(moves, most);
        return moves;
    }

private:
    [[nodiscard]] std::size_t songs() const { return check_.songs.size(); }

    /// How many songs some unit plays with `moved` on `release`.
    [[nodiscard]] std::size_t served_with(std::size_t moved, std::size_t release) const {
        std::size_t count = 0;
        for (std::size_t song = 0; song < songs(); ++song) {
            bool served = false;
            for (std::size_t unit = 0; unit < material_.devices.size() && !served; ++unit)
                served = plays(check_.play(song, unit, unit == moved ? release : check_.running[unit]));
            count += served ? 1 : 0;
        }
        return count;
    }

    [[nodiscard]] Move move(std::size_t unit, std::size_t release) const {
        const schema::Device& device = *material_.devices[unit];
        const std::size_t running = check_.running[unit];
        Move move;
        move.unit = unit;
        move.release = release;
        move.barrier = barrier_of(material_.rig->units[unit], device, running, release);
        if (move.barrier == Barrier::no_schema) return move;
        for (std::size_t song = 0; song < songs(); ++song) {
            const bool now = as_saved(check_.play(song, unit, running));
            const bool then = as_saved(check_.play(song, unit, release));
            if (then) ++move.songs;
            if (then && !now) move.won.push_back(song);
            if (now && !then) move.lost.push_back(song);
        }
        move.own_lost = check_.own[unit].lost[release];
        move.own_won = check_.own[unit].won[release];
        move.served = served_with(unit, release);
        move.no_return = !may_return(device, release, running);
        move.erases = device.releases[release].schema->erases;
        return move;
    }

    [[nodiscard]] std::size_t distance(const Move& move) const {
        const std::size_t running = check_.running[move.unit];
        return move.release > running ? move.release - running : running - move.release;
    }

    /// Lower comes first.
    [[nodiscard]] auto rank(const Move& move) const {
        return std::tuple(-move.worth(), move.own_lost, distance(move), move.release < check_.running[move.unit],
                          move.unit);
    }

    void find_best(Moves& moves) const {
        for (std::size_t i = 0; i < moves.all.size(); ++i) {
            const Move& move = moves.all[i];
            if (move.barrier != Barrier::none || move.worth() <= 0) continue;
            if (!moves.best || rank(move) < rank(moves.all[*moves.best])) moves.best = i;
        }
    }

    [[nodiscard]] std::vector<bool> played(std::size_t unit, std::size_t release) const {
        std::vector<bool> list(songs());
        for (std::size_t song = 0; song < songs(); ++song) list[song] = plays(check_.play(song, unit, release));
        return list;
    }

    void find_plan(Moves& moves, std::size_t most) const {
        std::vector<PlanUnit> units(material_.devices.size());
        std::vector<std::vector<std::size_t>> meant(units.size());  // indices into moves.all
        for (std::size_t unit = 0; unit < units.size(); ++unit) {
            units[unit].stay.songs = played(unit, check_.running[unit]);
            for (std::size_t i = 0; i < moves.all.size(); ++i) {
                if (moves.all[i].unit == unit && moves.all[i].barrier == Barrier::none) meant[unit].push_back(i);
            }
            std::ranges::sort(meant[unit], {}, [&](std::size_t i) { return rank(moves.all[i]); });
            for (const std::size_t i : meant[unit])
                units[unit].moves.push_back({played(unit, moves.all[i].release), moves.all[i].worth()});
        }
        moves.served = smallest_plan(units, songs(), most);
        for (const PlannedMove& one : moves.served.moves) moves.plan.push_back(meant[one.unit][one.move]);
    }

    const Material& material_;
    const RigCheck& check_;
};

}  // namespace

std::string_view barrier_name(Barrier barrier) {
    return barrier_names[static_cast<std::size_t>(barrier)];
}

std::int64_t Move::worth() const {
    return static_cast<std::int64_t>(won.size()) - static_cast<std::int64_t>(lost.size()) -
           static_cast<std::int64_t>(own_lost);
}

Moves find_moves(const Material& material, const RigCheck& check, std::size_t most) {
    return MoveFinder(material, check).find(most);
}

}  // namespace downfit::rig
