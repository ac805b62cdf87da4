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
};

/// The entry of a series. Entry::messages is left empty: only whoever chooses between framings numbers messages.
[[nodiscard]] Entry assemble(const AssemblyInput& input, const Series& series);

/// The message of a whole reading.
[[nodiscard]] Message message_of(const AssemblyInput& input, const Reading& reading);

/// How many checks a framing makes on an entry's bytes.
[[nodiscard]] std::size_t check_count(const schema::Framing& framing);

/// Whether the entry's stamp names a release whose dumps are framed so.
[[nodiscard]] bool stamp_supports(const schema::Device& device, const Entry& entry);

/// Whether some release with that framing expects bodies of that size.
[[nodiscard]] bool is_known_size(const schema::Device& device, std::size_t framing, std::size_t size);

}  // namespace downfit::dump
