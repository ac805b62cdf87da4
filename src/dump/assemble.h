// Assembling: a series of messages made one entry: joined, unpacked, checked, with its stamp and slot.
//
// Internal to dump/.
#pragma once

#include <string>
#include <vector>

#include "dump/dump.h"
#include "dump/find.h"
#include "dump/series.h"

namespace downfit::dump {

/// What an entry is made from. Refers to all it is given.
struct AssemblyInput {
    const std::string& file;
    const schema::Device& device;
    std::size_t framing;
    const Findings& findings;
    bool full = false;  ///< as much is unpacked as may be: packed bodies are left alone
};

/// What a series gave. Entry::messages and Image::parts count members of the series: only whoever chooses between
/// framings numbers messages.
struct Assembled {
    std::size_t framing = 0;
    Series series;
    std::vector<Entry> entries;  ///< exactly one without an image
    std::optional<Image> image;
    Problems problems;  ///< of an image: what touches no entry
};
[[nodiscard]] Assembled assemble(const AssemblyInput& input, Series series);

/// Whether the framing cuts presets out of something larger.
[[nodiscard]] bool has_image(const schema::Framing& framing);

/// Whether the body looks like a slot that holds nothing.
[[nodiscard]] bool looks_empty(const schema::Framing& framing, ByteView body);

/// The stamp in the body, where the framing has one there.
[[nodiscard]] std::optional<schema::Stamp> body_stamp(const schema::Framing& framing, ByteView body);

/// The layout (index) that is framed so.
[[nodiscard]] std::size_t layout_of(const schema::Device& device, std::size_t framing);

/// Where byte `index` of a reading's payload stands in the file; the message's end beyond its last.
[[nodiscard]] std::size_t payload_offset(const AssemblyInput& input, const Reading& reading, std::size_t index);

/// The message of a whole reading.
[[nodiscard]] Message message_of(const AssemblyInput& input, const Reading& reading);

/// How many checks a framing makes on an entry's bytes.
[[nodiscard]] std::size_t check_count(const schema::Framing& framing);

/// Whether the entry's stamp names a release whose dumps are framed so.
[[nodiscard]] bool stamp_supports(const schema::Device& device, const Entry& entry);

/// Whether some release with that framing expects bodies of that size.
[[nodiscard]] bool is_known_size(const schema::Device& device, std::size_t framing, std::size_t size);

}  // namespace downfit::dump
