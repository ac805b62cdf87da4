// Presets whose records do not fit: a length that runs past the end of the preset is damage, for nobody can say what
// the lost bytes held.
//
// Internal to dump/.
#pragma once

#include "dump/dump.h"

namespace downfit::dump {

/// Marks as damaged every filled entry whose body, as each release that may have saved it knows it, has a record that
/// runs past the end of its run. `original` are the file's bytes.
void tell_cut_records(Dump& dump, ByteView original);

}  // namespace downfit::dump
