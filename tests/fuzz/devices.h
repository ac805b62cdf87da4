// The devices that dumps are read by in fuzz targets, and dumps of theirs that bodies can be put into.
#pragma once

#include <vector>

#include "dump/dump.h"
#include "schema/device.h"

namespace downfit::fuzz {

/// Dunlin 6, Pipit, Goldcrest (tests/fuzz/goldcrest/); loaded once. Ends the program where one does not load.
[[nodiscard]] const std::vector<schema::Device>& devices();

/// The device that a control byte chooses.
[[nodiscard]] const schema::Device& device_of(std::uint8_t choice);

/// A dump and the bytes that it was read from.
struct Base {
    Bytes bytes;
    dump::Dump dump;
};

/// Small whole dumps of a device; read once. Not empty.
[[nodiscard]] const std::vector<Base>& bases_of(const schema::Device& device);

}  // namespace downfit::fuzz
