// Raw files: no messages, the file itself is the image.
//
// Internal to dump/.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "dump/dump.h"

namespace downfit::dump {

/// The device's framings (indices) that take the file as raw: it begins as they say; with the name of a layout, those
/// of that layout that say nothing too. None for an empty file.
[[nodiscard]] std::vector<std::size_t> raw_framings(ByteView bytes, const schema::Device& device,
                                                    std::string_view layout);

/// Reads a raw file by the best of these framings.
[[nodiscard]] Dump read_raw(std::string file, ByteView bytes, const schema::Device& device,
                            const std::vector<std::size_t>& framings);

}  // namespace downfit::dump
