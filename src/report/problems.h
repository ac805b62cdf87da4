// Problems as text: where, what, what was expected, what to do.
#pragma once

#include <cstddef>
#include <string>

#include "base/problem.h"

namespace downfit::report {

/// "bank.syx" of a file, "device.json:12:8" of a place in a text, "bank.syx, byte 1034 (0x40A), slot 12" of bytes;
/// empty for no place.
[[nodiscard]] std::string place_text(const Place& place);

/// "byte 1034 (0x40A)".
[[nodiscard]] std::string byte_text(std::size_t offset);

/// One problem in lines, each ended: place and what is wrong; below it, indented, the JSON Pointer, what was expected
/// and the remedy, where there are any. Safe for a terminal whatever the problem quotes.
[[nodiscard]] std::string problem_text(const Problem& problem);

/// All of them, one after the other.
[[nodiscard]] std::string problems_text(const Problems& problems);

/// The same on one line without file and slot, for lists below a heading that names them.
[[nodiscard]] std::string problem_line(const Problem& problem);

/// What to say where all presets of a file, three or more, are damaged by the same check (or length); else nothing. One
/// list for each preset.
[[nodiscard]] std::string failing_alike(const std::vector<const Problems*>& damage);

}  // namespace downfit::report
