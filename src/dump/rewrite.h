// Rewriting images: from entries that changed to the data of the messages that hold them.
//
// Internal to dump/.
#pragma once

#include <map>

#include "dump/dump.h"

namespace downfit::dump {

/// What changes where an image is written. Nothing does where no entry changed.
struct Rewritten {
    std::map<std::size_t, Bytes> payloads;  ///< by index into Dump::messages: new data of those that change
    std::optional<Bytes> file;              ///< of a raw file, where it changes
};

/// Puts the bodies of an image's entries that are not damaged back into it and finds what changes. `original` is the
/// file. Fails where entries that share bytes hold different ones there, or the image's length after packing changes.
[[nodiscard]] Result<Rewritten> rewrite_image(const Dump& dump, std::size_t image, ByteView original);

}  // namespace downfit::dump
