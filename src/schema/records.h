// Runs of records in a body or in a group's value (docs/formats.md, "Bodies of records").
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace downfit::schema {

/// One element of a record's head.
struct HeadPart {
    enum class Kind : std::uint8_t { id, length, version };
    Kind kind = Kind::id;
    std::size_t width = 1;  ///< bytes, 1 to 4
    bool little_endian = false;

    bool operator==(const HeadPart&) const = default;
};

/// A run of records: head, value, head, value.
struct Records {
    std::size_t from = 0;             ///< first byte, from the body's (or the value's) start
    std::vector<HeadPart> head;       ///< exactly one id
    std::size_t value_length = 0;     ///< of every value where the head has no length
    bool counts_record = false;       ///< the length counts the head too
    std::optional<std::int64_t> end;  ///< an id that ends the run

    bool operator==(const Records&) const = default;
};

}  // namespace downfit::schema
