// Manufacturer ids: whose message a System Exclusive message is.
//
// MIDI 1.0 Detailed Specification 4.2.1, p. 34: the id is the first byte after F0, or, where that byte is 00,
// the first three.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "base/bytes.h"

namespace downfit::midi {

/// The block of ids an id was taken from.
enum class IdGroup {
    american,
    european,
    japanese,
    other,
    non_commercial,           ///< 7D: never in a released product
    universal_non_real_time,  ///< 7E
    universal_real_time,      ///< 7F
    unused,                   ///< 00 00 00, given to nobody
};

/// A group and how a report or a schema spells it.
struct IdGroupRow {
    IdGroup group;
    std::string_view name;
};

/// Every group, in the order of the enum.
inline constexpr std::array<IdGroupRow, 8> id_groups{{
    {IdGroup::american, "american"},
    {IdGroup::european, "european"},
    {IdGroup::japanese, "japanese"},
    {IdGroup::other, "other"},
    {IdGroup::non_commercial, "non-commercial"},
    {IdGroup::universal_non_real_time, "universal non-real-time"},
    {IdGroup::universal_real_time, "universal real-time"},
    {IdGroup::unused, "unused"},
}};

/// An id of one or three bytes. Bytes past `length` are 0, so that equal ids compare equal.
struct ManufacturerId {
    std::array<std::uint8_t, 3> bytes{};
    std::uint8_t length = 1;  ///< 1 or 3

    /// The id's bytes as sent; valid as long as this object.
    [[nodiscard]] ByteView view() const { return ByteView(bytes).first(length); }

    bool operator==(const ManufacturerId&) const = default;
};

/// The id at the start of `content` (the bytes after F0). Nothing where there is none: no byte at all, a
/// leading 00 with fewer than two bytes after it, or a byte above 7F where a byte of the id should be.
[[nodiscard]] std::optional<ManufacturerId> parse_manufacturer_id(ByteView content);

/// The block `id` belongs to.
[[nodiscard]] IdGroup id_group(const ManufacturerId& id);

/// The group's name from the table above.
[[nodiscard]] std::string_view name(IdGroup group);

}  // namespace downfit::midi
