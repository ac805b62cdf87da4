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
    bool only = false;  // in its dump
    std::size_t saved_on = 0;
    const compat::CompiledRelease* release = nullptr;
    std::optional<compat::LoadedPreset> loaded;
};

OlderCopies::OlderCopies(const schema::Device& device, const std::vector<OlderDump>& dumps,
                         const compat::CheckOptions& options)
    : device_(device), options_(options) {
    for (const OlderDump& older : dumps) {
        const std::size_t before = copies_.size();
        for (const dump::Entry& entry : older.dump->entries) {
            const bool is_preset = device.framings[entry.framing].holds == schema::Holds::presets;
            if (!is_preset || entry.state != dump::SlotState::filled) continue;
            const std::vector<std::size_t> saved_on = compat::releases_that_saved(device, entry, options.saved_on);
            if (saved_on.empty() || !device.releases[saved_on.back()].schema) continue;
            auto copy = std::make_unique<Copy>();
            copy->entry = &entry;
            copy->file = older.dump->file;
            copy->slot = entry.slot < 0 ? -1 : dump::shown_slot(device, entry);
            copy->saved_on = saved_on.back();
            const schema::Release& release = device.releases[saved_on.back()].schema->in_layout(entry.layout);
            auto& compiled = compiled_[&release];
            if (!compiled) compiled = std::make_unique<compat::CompiledRelease>(device, release);
            copy->release = compiled.get();
            copy->name = dump::preset_name(compiled->instances(), entry.body, entry.layout);
            copies_.push_back(std::move(copy));
        }
        if (copies_.size() == before + 1) copies_.back()->only = true;
    }
}

OlderCopies::~OlderCopies() = default;

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
    if (!copy->loaded) {
        compat::Assumptions assumptions;
        assumptions.facts = options_.facts;
        const compat::Image image{copy->entry->body, layout,  copy->saved_on, copy->slot,
                                  options_.settings, nullptr, nullptr};
        copy->loaded = compat::load(*copy->release, image, assumptions);
    }
    if (copy->loaded->refused) return {};
    return {copy->release, &*copy->loaded, found_by, copy->file, copy->name, copy->slot};
}

}  // namespace downfit::refit
