// Storages as release files write them, and the common ones made.
#pragma once

#include <cstddef>
#include <string>

#include "schema/parameter.h"

namespace downfit::study {

/// The members that a release file would say of it: `"at": 12, "as": "uint16", "order": "little"`. What may be left
/// out is left out.
[[nodiscard]] std::string storage_text(const schema::Storage& storage);

/// A number in `count` (1 to 8) whole bytes from `at`.
[[nodiscard]] schema::Storage whole_bytes(std::size_t at, std::size_t count, bool little_endian,
                                          schema::Coding coding = schema::Coding::unsigned_number);

/// A number in the low `bits` of each of `count` bytes from `at`: 7-bit pairs, nibbles.
[[nodiscard]] schema::Storage low_bits_of(std::size_t at, std::size_t count, unsigned bits, bool low_first,
                                          schema::Coding coding = schema::Coding::unsigned_number);

/// A number in `width` bits of one byte, the lowest of them `bit`.
[[nodiscard]] schema::Storage bits_of(std::size_t at, unsigned bit, unsigned width,
                                      schema::Coding coding = schema::Coding::unsigned_number);

/// Whether a 32-bit real is one that people write with few digits: at most six, at most three behind the point.
[[nodiscard]] bool has_few_digits(double number);

}  // namespace downfit::study
