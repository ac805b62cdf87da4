// Stamps: where a dump says on which release its presets were saved, and saying it anew.
#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>

#include "dump/dump.h"

namespace downfit::dump {

/// Where the stamp of an entry stands. Entries with equal places share one stamp.
struct StampPlace {
    enum class Kind : std::uint8_t {
        nowhere,  ///< the entry carries none
        body,     ///< in its own body: `which` is the entry
        image,    ///< in bytes of an image: `which` is the image, `at` the byte
        message,  ///< in a capture: `which` is the message
        file,     ///< by name: once in the file
    };
    Kind kind = Kind::nowhere;
    std::size_t which = 0;
    std::size_t at = 0;

    auto operator<=>(const StampPlace&) const = default;  // NOLINT(modernize-use-nullptr): no pointer is there
};

/// Where the stamp of entry `index` stands.
[[nodiscard]] StampPlace stamp_place(const Dump& dump, std::size_t index);

/// Puts another stamp in the place of the entry's own; write() then writes it. False, and nothing changed, where there
/// is no place for it, or it does not fit.
[[nodiscard]] bool put_stamp(Dump& dump, std::size_t index, const schema::Stamp& stamp, ByteView original);

}  // namespace downfit::dump
