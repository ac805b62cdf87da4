// What loading makes of schema files even where something is wrong with them. For the sources of schema/ only.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "schema/inherit.h"
#include "schema/load.h"

namespace downfit::schema {

/// One release that could be resolved.
struct ResolvedRelease {
    std::size_t order = 0;  ///< in the device's list; Device::releases[order].schema is there
    RawRelease raw;         ///< with the place of everything in it
    bool clean = false;     ///< nothing is wrong with it, nor with anything that it inherits
};

/// Files as far as they could be read. `device` is there where nothing is wrong with the device file; of its releases
/// those that could be resolved have a schema, of which only those of clean ones may be relied on.
struct LoadedParts {
    std::optional<Device> device;
    NodePtr device_node;                    ///< null without a device file
    std::vector<ResolvedRelease> releases;  ///< oldest first
    Problems problems;                      ///< all that load_device would return
};

/// As load_device, but keeps what it can.
[[nodiscard]] LoadedParts load_parts(const std::vector<SourceFile>& files);

}  // namespace downfit::schema
