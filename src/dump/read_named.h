// Reading and writing JSON and XML files: presets found by name, their bodies the text that they stand in.
//
// Internal to dump/.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "dump/dump.h"

namespace downfit::dump {

/// The device's framings (indices) by name that the file may be read by, going by its first characters; with the name
/// of a layout only that layout's.
[[nodiscard]] std::vector<std::size_t> named_framings(ByteView bytes, const schema::Device& device,
                                                      std::string_view layout);

/// Whether the file is one of the device's by name: what it is recognised by stands there, and there are presets. A
/// file that is broken JSON or XML counts, so that whoever reads it is told where.
[[nodiscard]] bool is_named_dump(ByteView bytes, const schema::Device& device, std::string_view layout);

/// Reads a file by the best of these framings (at least one).
[[nodiscard]] Result<Dump> read_named(const std::string& file, ByteView bytes, const schema::Device& device,
                                      const std::vector<std::size_t>& framings);

/// Puts another stamp where the entry's stands: in its body, or for all entries in the file. False where it does not
/// fit.
[[nodiscard]] bool put_named_stamp(Dump& dump, std::size_t entry, const schema::Stamp& stamp, ByteView original);

/// The file with the bodies of all entries put back where they stood.
[[nodiscard]] Result<Bytes> write_named(const Dump& dump, ByteView original);

}  // namespace downfit::dump
