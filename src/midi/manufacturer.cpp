#include "midi/manufacturer.h"

#include <algorithm>
#include <cstddef>

namespace downfit::midi {

namespace {

/// The block of 32 that both kinds of id share: the one-byte id itself, or the second byte of a long one.
IdGroup block_of(std::uint8_t byte) {
    switch (byte >> 5) {
        case 0: return IdGroup::american;
        case 1: return IdGroup::european;
        case 2: return IdGroup::japanese;
        default: return IdGroup::other;
    }
}

constexpr bool groups_in_order() {
    for (std::size_t i = 0; i < id_groups.size(); ++i) {
        if (static_cast<std::size_t>(id_groups[i].group) != i) return false;
    }
    return static_cast<std::size_t>(IdGroup::unused) + 1 == id_groups.size();
}
static_assert(groups_in_order());

}  // namespace

std::optional<ManufacturerId> parse_manufacturer_id(ByteView content) {
    if (content.empty()) return std::nullopt;
    const std::size_t length = content[0] == 0 ? 3 : 1;
    if (content.size() < length) return std::nullopt;
    const ByteView bytes = content.first(length);
    if (std::any_of(bytes.begin(), bytes.end(), [](std::uint8_t b) { return b > 0x7F; })) return std::nullopt;
    ManufacturerId id;
    std::copy(bytes.begin(), bytes.end(), id.bytes.begin());
    id.length = static_cast<std::uint8_t>(length);
    return id;
}

IdGroup id_group(const ManufacturerId& id) {
    if (id.length == 3) {
        return id.bytes[1] == 0 && id.bytes[2] == 0 ? IdGroup::unused : block_of(id.bytes[1]);
    }
    switch (id.bytes[0]) {
        case 0x00: return IdGroup::unused;
        case 0x7D: return IdGroup::non_commercial;
        case 0x7E: return IdGroup::universal_non_real_time;
        case 0x7F: return IdGroup::universal_real_time;
        default: return block_of(id.bytes[0]);
    }
}

std::string_view name(IdGroup group) {
    return id_groups[static_cast<std::size_t>(group)].name;
}

}  // namespace downfit::midi
