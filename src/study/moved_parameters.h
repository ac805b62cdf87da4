// Which parameters have the bits that moved, and what they were before and after.
//
// Internal to study/.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "dump/locate.h"
#include "dump/tree.h"
#include "study/moved.h"

namespace downfit::study {

/// Bits of one byte, which stands at another place in either body.
struct MovedBits {
    std::size_t before = 0, after = 0;
    std::uint8_t bits = 0;
};

/// Looks parameters up in two bodies of one layout. Keeps references to all that it is given; without `instances`
/// there are no parameters.
class MovedParameters {
public:
    MovedParameters(const schema::Instances* instances, const schema::Layout& layout, const schema::Device& device,
                    const dump::Entry& after_entry, ByteView before, ByteView after);

    /// Those that have any of these bits, in either body.
    [[nodiscard]] std::vector<Covering> with(const std::vector<MovedBits>& moved) const;
    /// Those that have any of these bytes of the second body (of the first, without `in_after`).
    [[nodiscard]] std::vector<Covering> in(std::size_t at, std::size_t length, bool in_after) const;
    /// By name: those whose value is, or holds, what stands there in either body.
    [[nodiscard]] std::vector<Covering> by_name(std::optional<ByteSpan> before, std::optional<ByteSpan> after) const;

private:
    struct Side {
        std::optional<dump::Located> located;
        std::vector<dump::Leaf> leaves;  // one a field
    };
    [[nodiscard]] std::uint8_t bits_of(std::size_t field, const Side& side, std::size_t byte) const;
    [[nodiscard]] Covering covering(std::size_t field) const;

    const schema::Instances* instances_;
    bool settings_ = false;
    Side before_, after_;
};

}  // namespace downfit::study
