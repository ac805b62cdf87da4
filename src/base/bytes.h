// Bytes as every room passes them: views that own nothing, and buffers that own.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace downfit {

/// A read-only run of bytes. Owns nothing; valid as long as what it was made from.
using ByteView = std::span<const std::uint8_t>;

/// An owned run of bytes.
using Bytes = std::vector<std::uint8_t>;

/// A run of bytes in a file: `offset` from the file's start, `length` in bytes.
struct ByteSpan {
    std::size_t offset = 0;
    std::size_t length = 0;

    bool operator==(const ByteSpan&) const = default;
};

}  // namespace downfit
