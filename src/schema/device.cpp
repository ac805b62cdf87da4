#include "schema/device.h"

#include <algorithm>

namespace downfit::schema {

namespace {

bool carries(const ReleaseEntry& entry, const Stamp& stamp) {
    return std::ranges::find(entry.stamps, stamp) != entry.stamps.end();
}

/// The nearest known number stamps below and above a number.
struct Neighbours {
    std::optional<std::int64_t> below, above;
};

Neighbours neighbours_of(const std::vector<ReleaseEntry>& releases, std::int64_t number) {
    Neighbours found;
    for (const ReleaseEntry& entry : releases) {
        for (const Stamp& stamp : entry.stamps) {
            const auto* known = std::get_if<std::int64_t>(&stamp);
            if (!known) continue;
            if (*known < number) found.below = std::max(found.below.value_or(*known), *known);
            if (*known > number) found.above = std::min(found.above.value_or(*known), *known);
        }
    }
    return found;
}

template <class Wanted>
std::vector<std::size_t> releases_where(const std::vector<ReleaseEntry>& releases, const Wanted& wanted) {
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < releases.size(); ++i) {
        if (wanted(releases[i])) found.push_back(i);
    }
    return found;
}

}  // namespace

unsigned Storage::width() const {
    unsigned bits = 0;
    for (const BitPiece& piece : pieces) bits += piece.width;
    return bits;
}

const Parameter* Release::find(std::string_view id) const {
    const auto at = std::ranges::find(parameters, id, &Parameter::id);
    return at == parameters.end() ? nullptr : &*at;
}

const AssetKind* Release::asset(std::string_view kind) const {
    const auto at = std::ranges::find(assets, kind, &AssetKind::name);
    return at == assets.end() ? nullptr : &*at;
}

std::optional<std::size_t> Device::find_release(std::string_view release) const {
    const auto at = std::ranges::find(releases, release, &ReleaseEntry::name);
    if (at == releases.end()) return std::nullopt;
    return static_cast<std::size_t>(at - releases.begin());
}

std::vector<std::size_t> Device::releases_with(const Stamp& stamp) const {
    const auto carrying = [&](const Stamp& carried) {
        return releases_where(releases, [&](const ReleaseEntry& entry) { return carries(entry, carried); });
    };
    auto found = carrying(stamp);
    const auto* number = std::get_if<std::int64_t>(&stamp);
    if (!found.empty() || !number) return found;

    const auto neighbours = neighbours_of(releases, *number);
    const auto& below = neighbours.below;
    const auto& above = neighbours.above;
    if (!below) return {};
    found = releases_where(releases, [&](const ReleaseEntry& entry) { return entry.stamp_from == below; });
    if (!found.empty() || !above) return found;
    switch (unlisted_stamps) {
        case UnlistedStamps::unknown: return {};
        case UnlistedStamps::older: return carrying(*below);
        case UnlistedStamps::newer: return carrying(*above);
        case UnlistedStamps::neighbours: break;
    }
    return releases_where(releases,
                          [&](const ReleaseEntry& entry) { return carries(entry, *below) || carries(entry, *above); });
}

}  // namespace downfit::schema
