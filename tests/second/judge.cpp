#include "second/judge.h"

#include <algorithm>
#include <optional>

#include "second/ear.h"
#include "second/held.h"

namespace downfit::testing::second {
namespace {

/// All worlds for the rules that a release leaves open somewhere.
std::vector<World> worlds_of(const Manual& manual) {
    std::vector<World> worlds(1);
    for (const auto& [rule, words] : possibilities()) {
        if (manual.rules.contains(rule)) continue;
        std::vector<World> more;
        for (const World& world : worlds) {
            for (const std::string& word : words) {
                more.push_back(world);
                more.back()[rule] = word;
            }
        }
        worlds = std::move(more);
    }
    return worlds;
}

std::string fingerprint(const Played& played) {
    std::string text = played.refused ? "refused" : "";
    for (const auto& [name, had] : played.had) {
        text += name + " " + std::to_string(had.exists) + std::to_string(had.read) + std::to_string(had.meaningless) +
                had.did + " " + had.now.form + std::to_string(had.now.whole) + " " + number_words(had.now.real) +
                had.now.text + " " + had.thing + had.look.mark();
        for (const std::int64_t bit : had.bits) text += " " + std::to_string(bit);
        text += "\n";
    }
    return text;
}

/// All different ways in which a release may load a preset; nothing where there are too many to tell. Ways that are
/// alike in two worlds are told once, or once for each with `worlds_apart`.
std::optional<std::vector<Played>> plays_of(const Manual& manual, const Sheet& sheet, const Shelf& shelf,
                                            const Body& body, bool worlds_apart) {
    constexpr std::size_t most = 1200;
    std::vector<Played> plays;
    std::set<std::string> seen;
    const std::vector<World> worlds = worlds_of(manual);
    for (std::size_t i = 0; i < worlds.size(); ++i) {
        const World& world = worlds[i];
        std::vector<Played> here;
        if (!add_plays(manual, sheet, shelf, body, world, most, here)) return std::nullopt;
        for (Played& played : here) {
            played.world = i;
            const std::string mark = worlds_apart ? std::to_string(i) + ' ' : std::string();
            if (seen.insert(mark + fingerprint(played)).second) plays.push_back(std::move(played));
        }
        if (plays.size() > most) return std::nullopt;
    }
    return plays;
}

std::string verdict_of(int weight) {
    return weight == none ? "intact" : weight == slight ? "near" : "altered";
}

int rank(const std::string& verdict) {
    return verdict == "intact" ? 0 : verdict == "near" ? 1 : verdict == "altered" ? 2 : 4;
}

/// What the releases after the older one, up to the newer one, say that they changed.
std::vector<Revoicing> revoicings_of(const Shelf& shelf, std::size_t saved, std::size_t loading) {
    static const std::vector<std::string> words{"none", "slight", "audible", "severe"};
    std::vector<Revoicing> all;
    for (const auto& [name, file] : shelf.releases) {
        const std::size_t order = order_of(shelf, name);
        if (order <= std::min(saved, loading) || order > std::max(saved, loading)) continue;
        const Manual manual = manual_of(shelf, name);
        for (const auto& [id, things] : manual.revoiced.items()) {
            const Entry& entry = manual.parameters.at(id);
            for (const auto& [label, says] : things.items()) {
                const std::string& called = label;
                const auto choice = std::find_if(entry.labels.begin(), entry.labels.end(),
                                                 [&](const Label& one) { return one.label == called; });
                if (choice == entry.labels.end()) continue;
                Revoicing one{entry.origin, choice->origin, slight, std::nullopt};
                const std::string word = says.value("weight", "slight");
                one.weight = static_cast<int>(std::find(words.begin(), words.end(), word) - words.begin());
                if (says.contains("level-change"))
                    one.rise = says["level-change"].get<double>() * (saved > loading ? -1 : 1);
                all.push_back(one);
            }
        }
    }
    return all;
}

}  // namespace

Pair pair_of(const Shelf& shelf, const std::string& saved, const std::string& loading) {
    Pair pair{manual_of(shelf, saved), manual_of(shelf, loading), {}, {}};
    pair.saved_sheet = sheet_of(pair.saved);
    pair.loading_sheet = sheet_of(pair.loading);
    pair.revoiced = revoicings_of(shelf, pair.saved.order, pair.loading.order);
    return pair;
}

Told judge(const Pair& pair, const Shelf& shelf, const Body& body) {
    return judge(pair, shelf, body, body);
}

Told judge(const Pair& pair, const Shelf& shelf, const Body& body, const Body& there_body) {
    Told told;
    told.cut = is_cut(pair.saved, pair.saved_sheet, body);
    told.verdict = "undecided";
    told.best = "intact";
    told.worst = "refused";
    if (told.cut) return told;
    const bool same = pair.saved.order == pair.loading.order;
    const std::optional<std::vector<Played>> meant = plays_of(pair.saved, pair.saved_sheet, shelf, body, same);
    const std::optional<std::vector<Played>> there =
        plays_of(pair.loading, pair.loading_sheet, shelf, there_body, same);
    constexpr std::size_t most_worlds = 20'000;
    if (!meant || !there || meant->size() * there->size() > most_worlds) {
        told.too_many = true;
        return told;
    }
    told.best = "refused";
    told.worst = "intact";
    bool n_refuses = false;
    bool any_loads = false;
    for (const Played& saved : *meant) {
        n_refuses = n_refuses || saved.refused;
        for (const auto& [name, had] : saved.had) {
            if (had.exists && had.meaningless) told.doubts.insert(name);
        }
        for (const Played& loading : *there) {
            // One release is one release: it does the same when it loads what it saved.
            if (same && saved.world != loading.world) continue;
            ++told.worlds;
            if (loading.refused || saved.refused) told.worst = "refused";
            if (saved.refused) told.best = "intact";  // what was meant then, nobody knows
            if (loading.refused || saved.refused) continue;
            any_loads = true;
            int best = none;
            int worst = none;
            for (const auto& [name, fate] : fates_of(pair, saved, loading)) {
                best = std::max(best, fate.best);
                worst = std::max(worst, fate.worst);
                told.fates[name].insert(fate);
            }
            if (rank(verdict_of(best)) < rank(told.best)) told.best = verdict_of(best);
            if (rank(verdict_of(worst)) > rank(told.worst)) told.worst = verdict_of(worst);
        }
    }
    told.verdict = told.best == told.worst ? told.best : "undecided";
    // What its own release refuses was never meant to be anything.
    if (n_refuses && !any_loads) {
        told.verdict = "undecided";
        told.best = "intact";
        told.worst = "refused";
    }
    return told;
}

}  // namespace downfit::testing::second
