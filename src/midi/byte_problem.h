// Problems found in a run of bytes, built in one line. For the sources of midi/ only.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>
#include <variant>

#include "base/problem.h"

namespace downfit::midi {

/// `value` as two upper-case hex digits.
[[nodiscard]] inline std::string hex_byte(std::uint8_t value) {
    constexpr char digits[] = "0123456789ABCDEF";
    return {digits[value >> 4], digits[value & 0x0F]};
}

/// A problem with `length` bytes at `offset` of the run that was read. The file's name is left empty: whoever
/// knows which file the run came from, and where it began there, adds both.
[[nodiscard]] inline Problem byte_problem(std::size_t offset, std::size_t length, std::string what,
                                          std::string expected) {
    return {BytePlace{{}, offset, length, -1}, std::move(what), std::move(expected), {}};
}

/// A problem with a setting rather than with the bytes: it has no place.
[[nodiscard]] inline Problem setting_problem(std::string what, std::string expected) {
    return {std::monostate{}, std::move(what), std::move(expected), {}};
}

}  // namespace downfit::midi
