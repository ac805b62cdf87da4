// Where each decoded byte came from: the map a finding needs to point into the file.
#pragma once

#include <cstdint>
#include <vector>

namespace downfit::midi {

/// For every byte of a decoder's output the index of the input byte that gave most of its bits; of two that gave
/// equally many, the one that gave the higher bits. Indices are into the decoder's input, which must be shorter
/// than 4 GiB. Maps of decoders that run one after another are joined by looking one up in the other.
///
/// Every decoder takes a pointer to one, which may be null. What it held is replaced; after a failure its
/// content means nothing.
using Origins = std::vector<std::uint32_t>;

}  // namespace downfit::midi
