#include "rig/leaning.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "dump/tree.h"

namespace downfit::rig {

std::vector<AssetUse> assets_of(const schema::Device& device, const schema::Instances& instances,
                                const dump::Entry& entry, std::size_t release) {
    std::set<AssetUse> uses;
    for (const dump::Leaf& leaf : dump::decode_tree(instances, entry.body, release, &device, entry.layout)) {
        const schema::Parameter& parameter = instances.parameter(instances.fields()[leaf.field]);
        if (!leaf.exists || parameter.kind != schema::Kind::reference || parameter.scope == schema::Scope::unit)
            continue;
        const schema::AssetKind* kind = instances.release().asset(parameter.refers_to);
        if (kind == nullptr || leaf.stored.kind == dump::Stored::Kind::none) continue;
        AssetUse use{kind->name, kind->title.empty() ? kind->name : kind->title, -1, {}};
        if (leaf.stored.kind == dump::Stored::Kind::whole) {
            if (parameter.nothing && leaf.stored.whole == *parameter.nothing) continue;
            const double slot = parameter.plain.scale.value_of(static_cast<double>(leaf.stored.whole));
            if (!(std::abs(slot) < 1e6)) continue;
            use.slot = static_cast<int>(std::lround(slot));
        } else {
            use.name = leaf.value;
            if (use.name.empty()) continue;
        }
        uses.insert(std::move(use));
    }
    return {uses.begin(), uses.end()};
}

compat::KnownAssets Holdings::known() const {
    compat::KnownAssets known;
    for (const auto& [kind, held] : kinds) {
        auto& one = known[kind];
        for (const auto& [slot, name] : held.slots) {
            one.slots.insert(slot);
            if (!name.empty()) one.names.insert(name);
        }
    }
    return known;
}

Holdings holdings_of(const schema::Device& device, const std::vector<const dump::Dump*>& dumps) {
    Holdings holdings;
    std::set<std::pair<std::string, int>> seen;
    for (const dump::Dump* dump : dumps) {
        for (const dump::Entry& entry : dump->entries) {
            const schema::Framing& framing = device.framings[entry.framing];
            if (framing.holds == schema::Holds::unit_settings && entry.state == dump::SlotState::filled &&
                holdings.settings.empty())
                holdings.settings = entry.body;
            if (framing.holds != schema::Holds::asset) continue;
            Holdings::Kind& kind = holdings.kinds[framing.asset];
            if (entry.slot < 0) continue;
            const int slot = dump::shown_slot(device, entry);
            if (!seen.emplace(framing.asset, slot).second) continue;
            if (entry.state == dump::SlotState::filled) kind.slots[slot] = dump::captured_name(*dump, entry);
        }
    }
    // What the factory fills, but for slots that a dump shows otherwise.
    for (const schema::AssetKind& asset : device.assets) {
        const auto kind = holdings.kinds.find(asset.name);
        if (kind == holdings.kinds.end()) continue;
        for (const auto& [slot, name] : asset.contents) {
            if (!seen.contains({asset.name, slot})) kind->second.slots.emplace(slot, name);
        }
    }
    return holdings;
}

Standing standing_of(const AssetUse& use, const Holdings& source, const Holdings& unit) {
    Standing standing;
    const auto from = source.kinds.find(use.kind);
    if (from != source.kinds.end()) {
        const auto slot = from->second.slots.find(use.slot);
        if (slot != from->second.slots.end()) standing.meant = slot->second;
    }
    if (use.slot < 0) standing.meant = use.name;
    const auto held = unit.kinds.find(use.kind);
    if (held == unit.kinds.end()) return standing;
    standing.held = Held::missing;
    if (use.slot < 0) {
        for (const auto& [slot, name] : held->second.slots) {
            if (name != use.name) continue;
            standing.held = Held::there;
            standing.there = name;
        }
        return standing;
    }
    const auto slot = held->second.slots.find(use.slot);
    if (slot == held->second.slots.end()) return standing;
    standing.there = slot->second;
    const bool differs = !standing.meant.empty() && !standing.there.empty() && standing.meant != standing.there;
    standing.held = differs ? Held::other : Held::there;
    return standing;
}

}  // namespace downfit::rig
