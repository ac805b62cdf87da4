#include "rig/entry_checks.h"

#include <algorithm>

#include "compat/fingerprint.h"
#include "dump/tree.h"

namespace downfit::rig {

namespace {

/// The body of an entry by name.
std::optional<dump::NamedBody> named_body(const dump::Dump& dump, const dump::Entry& entry) {
    if (!entry.text) return std::nullopt;
    return std::optional<dump::NamedBody>(std::in_place, dump.device->framings[entry.framing].named.notation,
                                          entry.body);
}

/// The facts that the variant has on any release, the newest release's first.
void take_variant(const schema::Device& device, const std::string& name, compat::CheckOptions& options) {
    options.facts["variant"] = name;
    for (auto release = device.releases.rbegin(); release != device.releases.rend(); ++release) {
        if (!release->schema) continue;
        for (const schema::Variant& variant : release->schema->variants) {
            if (variant.name == name) options.facts.insert(variant.facts.begin(), variant.facts.end());
        }
    }
}

}  // namespace

EntryChecks::EntryChecks(const Material& material, const Rulings& rulings) : material_(material), rulings_(rulings) {
    for (std::size_t unit = 0; unit < material.rig->units.size(); ++unit)
        held_.push_back(holdings_of(*material.devices[unit], dumps_of(unit)));
}

Outfit EntryChecks::outfit_of(std::size_t from, std::size_t unit) const {
    return {material_.devices[unit], owner_of(from, *material_.devices[unit]), material_.saved_on[from],
            material_.rig->units[unit].variant};
}

compat::PresetCheck EntryChecks::check(const dump::Dump& dump, const dump::Entry& entry, std::size_t from,
                                       const Outfit& outfit) {
    std::optional<dump::NamedBody> named = named_body(dump, entry);
    compat::PresetCheck checked = checker(outfit).check(entry, named ? &*named : nullptr);
    if (may_refuse_dumps(*dump.device)) along(dump, outfit).apply(checker(outfit), checked);
    if (!rulings_.accepts(*dump.device)) return checked;
    const std::string file = dump.file.substr(dump.file.find_last_of('/') + 1);
    compat::add_fingerprints(*dump.device, file, names_in(dump, from).count(checked.name) == 1, checked);
    return checked;
}

const Holdings& EntryChecks::source(std::size_t from, const schema::Device& device) {
    const auto owner = owner_of(from, device);
    return owner ? held_[*owner] : everywhere(device);
}

study::Readers& EntryChecks::readers(const schema::Device& device) {
    auto& slot = readers_[&device];
    if (!slot) slot = std::make_unique<study::Readers>(device);
    return *slot;
}

/// The unit's own dumps first, then those for all, of the unit's device.
std::vector<const dump::Dump*> EntryChecks::dumps_of(std::size_t unit) const {
    std::vector<const dump::Dump*> dumps;
    for (const std::size_t index : material_.rig->units[unit].dumps)
        dumps.insert(dumps.end(), material_.dumps[index].begin(), material_.dumps[index].end());
    dumps.insert(dumps.end(), material_.everywhere.begin(), material_.everywhere.end());
    std::erase_if(dumps, [&](const dump::Dump* dump) { return dump->device != material_.devices[unit]; });
    return dumps;
}

/// The unit that a dump was read out of, where it is of that device.
std::optional<std::size_t> EntryChecks::owner_of(std::size_t from, const schema::Device& device) const {
    const auto owner = material_.rig->owner(from);
    return owner && material_.devices[*owner] == &device ? owner : std::nullopt;
}

const Holdings& EntryChecks::everywhere(const schema::Device& device) {
    const auto at = everywhere_.find(&device);
    if (at != everywhere_.end()) return at->second;
    std::vector<const dump::Dump*> dumps = material_.everywhere;
    std::erase_if(dumps, [&](const dump::Dump* dump) { return dump->device != &device; });
    return everywhere_.emplace(&device, holdings_of(device, dumps)).first->second;
}

compat::Checker& EntryChecks::checker(const Outfit& outfit) {
    auto& slot = checkers_[outfit];
    if (slot) return *slot;
    compat::CheckOptions options;
    for (std::size_t release = 0; release < outfit.device->releases.size(); ++release)
        options.targets.push_back(release);
    options.saved_on = outfit.saved_on;
    options.brought_by = false;
    if (!outfit.variant.empty()) take_variant(*outfit.device, outfit.variant, options);
    const Holdings& held = outfit.owner ? held_[*outfit.owner] : everywhere(*outfit.device);
    options.assets = held.known();
    options.settings = held.settings;
    options.hearing = compat::hearing_of(rulings_.policy_for(*outfit.device).tolerances);
    options.others = rulings_.accepts(*outfit.device);
    slot = std::make_unique<compat::Checker>(*outfit.device, std::move(options));
    return *slot;
}

bool EntryChecks::may_refuse_dumps(const schema::Device& device) {
    const auto [at, added] = may_refuse_.try_emplace(&device, false);
    if (added) at->second = compat::may_refuse_dumps(device);
    return at->second;
}

/// Which presets of the dump take the others along.
const compat::TakenAlong& EntryChecks::along(const dump::Dump& dump, const Outfit& outfit) {
    const auto [at, added] = along_.try_emplace({&dump, outfit});
    if (!added) return at->second;
    for (const dump::Entry& entry : dump.entries) {
        if (!study::holds_preset(*dump.device, entry)) continue;
        std::optional<dump::NamedBody> named = named_body(dump, entry);
        at->second.note(checker(outfit).check(entry, named ? &*named : nullptr));
    }
    return at->second;
}

/// The names of a dump's presets, as a check of the dump has them.
const std::multiset<std::string>& EntryChecks::names_in(const dump::Dump& dump, std::size_t from) {
    const auto [at, added] = names_.try_emplace(&dump);
    if (!added) return at->second;
    for (const dump::Entry& entry : dump.entries) {
        if (study::holds_preset(*dump.device, entry)) at->second.insert(checked_name(dump, entry, from));
    }
    return at->second;
}

std::string EntryChecks::checked_name(const dump::Dump& dump, const dump::Entry& entry, std::size_t from) {
    const auto release = study::saving_release(*dump.device, entry, material_.saved_on[from]);
    if (!release || entry.body.empty()) return {};
    std::optional<dump::NamedBody> named = named_body(dump, entry);
    const schema::Instances& instances = readers(*dump.device).of(*release, entry.layout);
    std::string name = dump::preset_name(instances, entry.body, entry.layout, named ? &*named : nullptr);
    return name.empty() && named ? dump::named_name(dump.device->framings[entry.framing], *named) : name;
}

}  // namespace downfit::rig
