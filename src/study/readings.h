// Readings: every plausible number (or text) that bytes may be, from what they were before and after one knob was
// turned. Which of them it is, only more dumps tell.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "schema/parameter.h"

namespace downfit::study {

/// How well a reading fits what moved.
enum class Fit : std::uint8_t {
    close,   ///< takes exactly the bytes that moved, or every byte of it moved
    wider,   ///< takes neighbours that did not move, as the upper part of a number would not
    remote,  ///< possible, with nothing that speaks for it
};

struct Reading {
    std::string name;                        ///< "unsigned, 16 bits, little-endian"
    std::optional<schema::Storage> storage;  ///< as a release file would say it; none for packed decimals
    std::string before, after;               ///< the numbers, or the texts (bytes as stored)
    Fit fit = Fit::close;
};

/// `before` and `after` are the two values of one run of bytes (the body, or a record's value) as far as both have it;
/// bytes `first` to `last` of it hold all that moved, and `free` says which bytes a reading may take. Best fit first,
/// then narrow before wide.
[[nodiscard]] std::vector<Reading> find_readings(ByteView before, ByteView after, std::size_t first, std::size_t last,
                                                 const std::vector<bool>& free);

}  // namespace downfit::study
