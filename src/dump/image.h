// Images: what messages lay down in a row or at addresses, and what in it is damaged.
//
// Internal to dump/. An image is laid, then the layout's steps work on it, then presets are cut from it.
#pragma once

#include <functional>
#include <vector>

#include "dump/assemble.h"

namespace downfit::dump {

/// Something wrong with an image: of it, `spans` cannot be trusted. Without spans it spoils no byte.
struct Hurt {
    Problem problem;
    std::vector<ByteSpan> spans;
    bool only_if_needed = false;  ///< not worth a word where no preset needs these bytes
};

/// An image before the layout's steps. Spans of `hurts` count in `bytes`, and may reach beyond them.
struct Laid {
    Bytes bytes;                   ///< what no part covers is zero
    std::vector<ImagePart> parts;  ///< ImagePart::message is an index into Series::members here
    std::vector<Hurt> hurts;
};

/// The data of a series' messages in a row.
[[nodiscard]] Laid lay_in_order(const AssemblyInput& input, const Series& series);

/// The data of a series' messages at the addresses that they capture. Sound messages count before damaged ones.
[[nodiscard]] Laid lay_by_address(const AssemblyInput& input, const Series& series);

/// What entries are cut from, and how to tell where it came from.
struct ImageSource {
    const std::string& file;
    const schema::Device& device;
    std::size_t framing;
    std::optional<int> slot;                            ///< of an image that is one preset
    std::optional<schema::Stamp> stamp;                 ///< captured
    std::function<std::size_t(std::size_t)> offset_of;  ///< in the file, of a byte before the layout's steps
};

/// Image and entries. Entry::messages are indices into Series::members, as in `laid`.
struct CutImage {
    Image image;
    std::vector<Entry> entries;
    Problems problems;  ///< what touches no entry
};
[[nodiscard]] CutImage cut_image(const ImageSource& source, Laid laid);

/// Where a piece of item `item` stands in its image; nothing before the image's start, or where the byte that gives
/// the item's number is not there. `body` is what the pieces before it gave.
[[nodiscard]] std::optional<ByteSpan> place_of(const schema::Piece& piece, int item, ByteView body);

/// Whether a preset of the framing has a piece that covers byte `at` of the image; with `both`, also the byte before
/// it.
[[nodiscard]] bool is_needed(const schema::Framing& framing, std::size_t at, bool both = false);

/// How long an image must be to hold all presets whose places are fixed.
[[nodiscard]] std::size_t needed_size(const schema::Framing& framing);

}  // namespace downfit::dump
