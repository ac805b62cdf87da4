// Bytes of an image that several presets share.
#pragma once

#include "dump/dump.h"

namespace downfit::refit {

/// Gives every entry of `next` the bytes that another one, which shares them, changed since `before`; of two changes
/// the first stands. So the entries can be put back into their image.
void share_bytes(const dump::Dump& before, dump::Dump& next);

/// Whether two entries are cut from the same bytes of one image, in part at least.
[[nodiscard]] bool share(const dump::Dump& dump, std::size_t a, std::size_t b);

}  // namespace downfit::refit
