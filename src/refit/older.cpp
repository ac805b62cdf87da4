#include "refit/older.h"

#include "compat/saved_on.h"
#include "dump/tree.h"
#include "refit/refit.h"

namespace downfit::refit {

struct OlderCopies::Copy {
    const dump::Entry* entry = nullptr;
    std::string file;
    int slot = -1;
    std::string name;
    std::size_t dump = 0;
    bool only = false;                                 // in its dump
    std::vector<std::size_t> saved_on;                 // those that are known, in order
    const compat::CompiledRelease* release = nullptr;  // the last of them
    std::optional<compat::LoadedPreset> loaded;
};

OlderCopies::OlderCopies(const schema::Device& device, const std::vector<OlderDump>& dumps,
                         const compat::CheckOptions& options)
    : device_(device), options_(options), dumps_(dumps.size()) {
    for (std::size_t d = 0; d < dumps.size(); ++d) {
        const OlderDump& older = dumps[d];
        const std::size_t before = copies_.size();
        for (const dump::Entry& entry : older.dump->entries) {
            const bool is_preset = device.framings[entry.framing].holds == schema::Holds::presets;
            if (!is_preset || entry.state != dump::SlotState::filled) continue;
            std::vector<std::size_t> saved_on;
            for (const std::size_t order : compat::releases_that_saved(device, entry, options.saved_on)) {
                if (release(order, entry.layout) != nullptr) saved_on.push_back(order);
            }
            if (saved_on.empty()) continue;
            auto copy = std::make_unique<Copy>();
            copy->entry = &entry;
            copy->file = older.dump->file;
            copy->slot = entry.slot < 0 ? -1 : dump::shown_slot(device, entry);
            copy->dump = d;
            copy->release = release(saved_on.back(), entry.layout);
            copy->saved_on = std::move(saved_on);
            copy->name = dump::preset_name(copy->release->instances(), entry.body, entry.layout);
            copies_.push_back(std::move(copy));
        }
        if (copies_.size() == before + 1) copies_.back()->only = true;
    }
}

OlderCopies::~OlderCopies() = default;

std::vector<std::size_t> OlderCopies::offered(const std::set<std::size_t>& layouts) const {
    std::vector<std::size_t> counts(dumps_, 0);
    for (const auto& copy : copies_) counts[copy->dump] += layouts.contains(copy->entry->layout) ? 1U : 0U;
    return counts;
}

const compat::CompiledRelease* OlderCopies::release(std::size_t order, std::size_t layout) {
    const auto& whole = device_.releases[order].schema;
    if (!whole) return nullptr;
    const schema::Release& described = whole->in_layout(layout);
    auto& compiled = compiled_[&described];
    if (!compiled) compiled = std::make_unique<compat::CompiledRelease>(device_, described);
    return compiled.get();
}

compat::LoadedPreset OlderCopies::loaded(const Copy& copy, std::size_t order) {
    compat::Assumptions assumptions;
    assumptions.facts = options_.facts;
    const compat::Image image{copy.entry->body, copy.entry->layout, order, copy.slot, options_.settings, nullptr,
                              nullptr};
    return compat::load(*release(order, copy.entry->layout), image, assumptions);
}

void OlderCopies::load(Copy& copy) {
    copy.loaded = loaded(copy, copy.saved_on.back());
    compat::LoadedPreset& preset = *copy.loaded;
    for (const std::size_t order : copy.saved_on) {
        if (order == copy.saved_on.back() || preset.refused) continue;
        const compat::CompiledRelease& other = *release(order, copy.entry->layout);
        const compat::LoadedPreset otherwise = loaded(copy, order);
        if (otherwise.refused) continue;  // it did not save that
        for (std::size_t i = 0; i < preset.fields.size(); ++i) {
            const compat::BoundField& field = copy.release->fields()[i];
            const auto found = other.instances().find_key(field.field->key);
            if (found && compat::same({copy.release, &field, &preset.fields[i]},
                                      {&other, &other.fields()[*found], &otherwise.fields[*found]}))
                continue;
            preset.fields[i].known = false;
        }
    }
}

std::pair<OlderCopies::Copy*, FoundBy> OlderCopies::find(const compat::PresetCheck& preset, std::size_t layout,
                                                         bool single) const {
    Copy* by_name = nullptr;
    Copy* by_slot = nullptr;
    Copy* only = nullptr;
    for (const auto& copy : copies_) {
        if (copy->entry->layout != layout) continue;
        const bool same_slot = preset.slot >= 0 && copy->slot == preset.slot;
        const bool same_name = !preset.name.empty() && copy->name == preset.name;
        if (same_name && same_slot) return {copy.get(), FoundBy::name};
        if (same_name && by_name == nullptr) by_name = copy.get();
        const bool nameless = preset.name.empty() || copy->name.empty();
        if (same_slot && nameless && by_slot == nullptr) by_slot = copy.get();
        if (single && copy->only && only == nullptr) only = copy.get();
    }
    if (by_name != nullptr) return {by_name, FoundBy::name};
    if (by_slot != nullptr) return {by_slot, FoundBy::slot};
    return {only, only != nullptr ? FoundBy::only : FoundBy::nothing};
}

OlderCopy OlderCopies::copy_of(const compat::PresetCheck& preset, std::size_t layout, bool single) {
    const auto [copy, found_by] = find(preset, layout, single);
    if (copy == nullptr) return {};
    if (!copy->loaded) load(*copy);
    if (copy->loaded->refused) return {};
    return {copy->release, &*copy->loaded, found_by, copy->file, copy->name, copy->slot};
}

}  // namespace downfit::refit
