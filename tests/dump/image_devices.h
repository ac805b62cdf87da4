// Devices that hold many presets in one image, and dumps for them.
#pragma once

#include <functional>
#include <set>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "dump/dump.h"
#include "schema/device.h"

namespace downfit::testing {

/// A device with a clean dump of it.
struct ImageSample {
    std::string name;
    schema::Device device;
    Bytes bytes;
    std::string layout;   ///< to name when reading; empty: content decides
    bool checked = true;  ///< a check covers all that presets hold
    /// Slots that a change of the byte at `at` may damage.
    std::function<std::set<int>(std::size_t at)> may_spoil;
};

/// One message, four presets, one check over all: slots 0 to 3 of six bytes.
[[nodiscard]] ImageSample one_message();

/// Addressed parts of 16 bytes; five presets of two pieces, one of them in a table that grows downwards.
[[nodiscard]] ImageSample addressed();

/// Numbered parts in a row; four presets whose second piece is a shared block.
[[nodiscard]] ImageSample shared_blocks();

/// A raw file that begins with "PIP", with two presets that have a sum each.
[[nodiscard]] ImageSample raw_file();

/// A raw file without any header: one body.
[[nodiscard]] ImageSample headerless();

/// A header that stamps all presets, then one message each.
[[nodiscard]] ImageSample with_header();

[[nodiscard]] std::vector<ImageSample> image_samples();

/// A message of the framing with that payload. `captures` are those before `data`; one byte is left for each after it.
[[nodiscard]] Bytes message(const schema::Framing& framing, std::size_t pattern, std::vector<Bytes> captures,
                            const Bytes& payload);

/// Bytes that differ from each other: from, from + 1 * step, ...
[[nodiscard]] Bytes ramp(std::size_t count, unsigned from, unsigned step);

/// What the sample's dump reads as.
[[nodiscard]] dump::Dump read_sample(const ImageSample& sample, const Bytes& bytes);

/// The entry of that slot, or null.
[[nodiscard]] const dump::Entry* entry_of(const dump::Dump& dump, int slot);

}  // namespace downfit::testing
