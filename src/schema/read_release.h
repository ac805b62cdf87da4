// Devices and releases from JSON, once inheritance is done. For the sources of schema/ only.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schema/context.h"
#include "schema/device.h"
#include "schema/read_layout.h"

namespace downfit::schema {

/// A release and its layouts, which get their framings once all releases are read.
struct ReadRelease {
    Release release;
    std::vector<ReadLayout> layouts;
};

/// What a `stamp` says. With `{"from": 512}` the number is among the stamps too.
struct ReadStamps {
    std::vector<Stamp> stamps;
    std::optional<std::int64_t> from;
};

/// One row of a device file's `releases`.
struct ListedRelease {
    std::string name;
    ReadStamps stamps;
    std::string date;
    TextPlace place;
};

/// A device file, read as far as it stands alone. `device` has no releases, framings and layouts yet.
struct ReadDevice {
    Device device;
    std::vector<ListedRelease> releases;
    bool list_complete = false;  ///< whether every release in the list could be read; if not, names prove nothing
    std::vector<ReadLayout> layouts;
};

/// A device file.
[[nodiscard]] ReadDevice read_device(const Node& node, Problems& problems);

/// A release, merged; `order` is its index in the device's list.
[[nodiscard]] ReadRelease read_release(const Context& context, std::size_t order);

/// The stamps in a node: a number, a text, a list of them, or `{"from": 512}`.
[[nodiscard]] ReadStamps read_stamps(const Node& node, Problems& problems);

/// `budget`: a number from 0 up.
[[nodiscard]] std::optional<double> read_budget(const Node& node, Problems& problems);

/// The parts that device and release files share. `node` may be null.
[[nodiscard]] Slots read_slots(const Node* node, Problems& problems);
[[nodiscard]] std::vector<AssetKind> read_assets(const Node* node, Problems& problems);
[[nodiscard]] std::vector<Variant> read_variants(const Node* node, const std::vector<std::string>& releases,
                                                 Problems& problems);

/// What can only be judged with the whole release at hand: conditions in circles, places beyond the body, more
/// instances than the limit.
void check_release(const ReadRelease& read, const Context& context);

/// Reports a release, in which nothing else is wrong, whose parameters share more bytes than can be looked at.
void check_overlaps(const Release& release, const TextPlace& place, Problems& problems);

/// Reports limits of variants for groups that no release has.
void check_limits(const std::vector<const RawRelease*>& releases, Problems& problems);

}  // namespace downfit::schema
