// Slots of a dump as a whole: those that stand twice, and those that the device does not have.
//
// Internal to dump/.
#pragma once

#include <vector>

#include "dump/dump.h"

namespace downfit::dump {

/// Adds to the dump's problems what is wrong with its slots. `places` says for each entry where it begins in the file.
void tell_slots(Dump& dump, const std::vector<ByteSpan>& places);

}  // namespace downfit::dump
