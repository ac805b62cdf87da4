// Images: messages whose data makes one memory image, and where presets lie in it (docs/formats.md, "One memory image,
// many presets").
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace downfit::schema {

/// One item of a layout's `preset` list.
struct AssemblyPart {
    std::size_t message = 0;  ///< index into Layout::messages
    bool repeated = false;    ///< "part...": one or more

    bool operator==(const AssemblyPart&) const = default;
};

/// `image`: messages whose data makes one memory image, joined in order or laid at captured addresses.
struct ImageRule {
    std::vector<AssemblyPart> of;
    std::string address;    ///< capture with the address of a part's first byte; empty: joined in order
    std::int64_t unit = 1;  ///< bytes that one address counts
    std::size_t size = 0;   ///< bytes, with addresses; 0: as long as the joined data
    bool sparse = false;    ///< only parts that hold something are sent: what none covers was never there

    bool operator==(const ImageRule&) const = default;
};

/// One piece of a preset's body inside an image.
struct Piece {
    std::int64_t at = 0;
    std::int64_t stride = 0;  ///< may be negative
    std::size_t length = 0;
    std::optional<std::size_t> by;  ///< byte of the body so far that holds the item's number, in place of the preset's

    bool operator==(const Piece&) const = default;
};

/// A run of presets inside an image: preset i of `count` has stored slot first + i.
struct PresetRun {
    int count = 1;
    int first = 0;
    std::vector<Piece> pieces;

    bool operator==(const PresetRun&) const = default;
};

}  // namespace downfit::schema
