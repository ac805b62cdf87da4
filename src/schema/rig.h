// A rig: who plays what on which unit, kept in a file of its own (docs/formats.md, "Rig file"). Reading it; what
// follows from it is the business of rig/.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "schema/device.h"
#include "schema/load.h"

namespace downfit::schema {

/// A dump file, by the name that the rig file gives it.
struct RigDump {
    std::string name;
    std::string file;      ///< as seen from the rig file
    std::string saved_on;  ///< the release of presets without a stamp; or empty
    std::string layout;    ///< or empty: content decides
    TextPlace place, saved_on_place;
};

/// One physical device.
struct RigUnit {
    std::string name, whose;
    std::string device;
    std::string variant;  ///< empty: not known
    std::string release;
    std::vector<std::size_t> dumps;  ///< read out of it: indices into Rig::dumps
    bool stays = false;              ///< no move of it is advised
    TextPlace device_place, variant_place, release_place;
};

/// A preset in a dump: by its slot as shown, its name, or both.
struct RigPreset {
    std::size_t dump = 0;  ///< index into Rig::dumps
    std::optional<int> slot;
    std::string name;
    TextPlace place;
};

/// A preset that a song needs, and what will do in its stead, best first.
struct RigNeed {
    RigPreset preset;
    std::vector<RigPreset> substitutes;
};

struct RigSong {
    std::string title;
    std::vector<RigNeed> presets;  ///< at least one
};

struct Rig {
    std::string title;
    std::vector<RigDump> dumps;  ///< in the order of the file
    std::vector<RigUnit> units;  ///< at least one
    std::vector<RigSong> songs;  ///< in playing order, at least one
    std::string file;
    std::string digest;  ///< SHA-256 of the file's bytes, hex

    /// The first unit out of which the dump was read, or nullopt.
    [[nodiscard]] std::optional<std::size_t> owner(std::size_t dump) const;
};

/// Reads a rig file. On failure every problem is returned, with file, line, column, JSON Pointer, what was expected
/// and, for a misspelt word or name, what may have been meant. What it lets through is then judged by
/// schemas/format/rig.schema.json as well. Never throws; reads no file itself, dumps neither.
[[nodiscard]] Result<Rig> read_rig(const SourceFile& file);

/// What in a rig does not fit the devices that are known: devices, variants and releases that there are not, releases
/// without a release file.
[[nodiscard]] Problems check_rig(const Rig& rig, const std::vector<const Device*>& devices);

/// The device of a unit, which check_rig found right.
[[nodiscard]] const Device* device_of(const RigUnit& unit, const std::vector<const Device*>& devices);

/// Adds the problem that a device has no release of that name; nothing where it has.
void check_release_named(const std::string& name, const TextPlace& place, const Device& device, Problems& problems);

}  // namespace downfit::schema
