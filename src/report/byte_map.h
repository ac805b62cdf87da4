// A map of bytes: one symbol for each place, as many in a row as the width takes.
#pragma once

#include <string>

#include "report/coverage.h"

namespace downfit::report {

/// Appends the map of one part and, below it, what its symbols mean; only those that it has. Bytes outside records
/// stand in rows that begin with the number of their first byte, ten to a column; records one to a row.
void append_byte_map(std::string& out, const study::Covered& part, const Style& style);

}  // namespace downfit::report
