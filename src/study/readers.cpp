#include "study/readers.h"

#include <vector>

#include "compat/saved_on.h"

namespace downfit::study {

bool holds_preset(const schema::Device& device, const dump::Entry& entry) {
    return device.framings[entry.framing].holds == schema::Holds::presets;
}

std::optional<std::size_t> saving_release(const schema::Device& device, const dump::Entry& entry,
                                          std::optional<std::size_t> assumed) {
    std::vector<std::size_t> releases = compat::releases_that_saved(device, entry, assumed);
    while (!releases.empty() && !device.releases[releases.back()].schema) releases.pop_back();
    if (releases.empty()) return std::nullopt;
    return releases.back();
}

const schema::Instances& Readers::of(std::size_t release, std::size_t layout) {
    const schema::Release& stored = device_.releases[release].schema->in_layout(layout);
    auto& slot = made_[&stored];
    if (!slot) slot = std::make_unique<schema::Instances>(stored);
    return *slot;
}

const schema::Instances* Readers::of(const std::optional<std::size_t>& release, std::size_t layout) {
    return release ? &of(*release, layout) : nullptr;
}

}  // namespace downfit::study
