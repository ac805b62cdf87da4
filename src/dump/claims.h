// Claims: what each byte of a body is to a layout and to a release: a parameter's, the framing's own, or nobody's.
//
// Every number about explained and unexplained bytes, in whichever command, comes from here.
#pragma once

#include <cstdint>
#include <vector>

#include "base/bytes.h"
#include "schema/instances.h"

namespace downfit::dump {

/// Whose a byte is. Where several claim it, the one further down this list counts.
enum class Claim : std::uint8_t {
    nobody,
    mark,       ///< tells an empty slot from a filled one
    stamp,      ///< says which release saved the preset
    parameter,  ///< some of its bits are a parameter's
    head,       ///< of a record that the release takes
    end,        ///< an end mark, or behind it, where nobody reads
    told,       ///< a check or a length, computed from other bytes
    changing,   ///< changes by itself (`volatile`)
};

struct ClaimedByte {
    Claim by = Claim::nobody;
    std::uint8_t bits = 0;  ///< those that parameters cover; all of them of any other claim, none of `nobody`

    bool operator==(const ClaimedByte&) const = default;
};

/// One for each byte of the body. `instances` may be null where there is no release file: then only what the layout
/// says is claimed, and all records of the outermost run count as taken. `framing` may be null: nothing of it is
/// claimed then.
[[nodiscard]] std::vector<ClaimedByte> claim_bytes(const schema::Instances* instances, const schema::Layout& layout,
                                                   const schema::Framing* framing, ByteView body);

/// Where checks and lengths stand in joined data (or an image) of `size` bytes: those after which nothing is unpacked
/// any more.
[[nodiscard]] std::vector<ByteSpan> told_places(const schema::Framing& framing, std::size_t size);

}  // namespace downfit::dump
