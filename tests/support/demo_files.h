// The demo's schemas and dumps, loaded once for the tests that use them.
#pragma once

#include <set>
#include <string>

#include "compat/check.h"
#include "dump/dump.h"
#include "schema/device.h"

namespace downfit::testing {

/// The device that schemas/NAME describes. Throws, with every problem, where it does not load.
[[nodiscard]] schema::Device load_device_folder(const std::string& name);

/// The bytes of demo/dumps/FILE.
[[nodiscard]] Bytes demo_dump(const std::string& file);

/// demo/dumps/FILE, read. Throws where it cannot be.
[[nodiscard]] dump::Dump read_demo_dump(const std::string& file, const Bytes& bytes, const schema::Device& device);

/// The shown slots that an asset dump fills.
[[nodiscard]] std::set<int> filled_slots(const dump::Dump& dump);

}  // namespace downfit::testing
