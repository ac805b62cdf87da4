#include "schema/device.h"

#include <algorithm>

namespace downfit::schema {

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
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < releases.size(); ++i) {
        if (std::ranges::find(releases[i].stamps, stamp) != releases[i].stamps.end()) found.push_back(i);
    }
    return found;
}

}  // namespace downfit::schema
