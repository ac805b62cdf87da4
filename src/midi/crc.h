// Cyclic redundancy checks of 8 to 32 bits, from their published parameters.
#pragma once

#include <cstdint>

#include "base/bytes.h"

namespace downfit::midi {

/// The parameters of the "Rocksoft model" in which G. Cook's "Catalogue of parametrised CRC algorithms" lists
/// them.
struct CrcModel {
    unsigned width = 32;        ///< bits, 8 to 32
    std::uint32_t poly = 0;     ///< highest power first, the leading 1 left out
    std::uint32_t init = 0;     ///< the register before the first byte
    bool reflect_in = false;    ///< each byte enters lowest bit first
    bool reflect_out = false;   ///< the register is turned end for end before the last step
    std::uint32_t xor_out = 0;  ///< combined with the register at the end

    bool operator==(const CrcModel&) const = default;
};

/// A check that takes its bytes in as many runs as there are.
class Crc {
public:
    /// A width outside 8 to 32 is the caller's mistake and gives meaningless values.
    explicit Crc(const CrcModel& model) : model_(model), register_(model.init) {}

    /// Goes on with `bytes`, which may be none.
    void add(ByteView bytes);

    /// The check of the bytes so far; more may follow.
    [[nodiscard]] std::uint32_t value() const;

private:
    CrcModel model_;
    std::uint32_t register_;
};

}  // namespace downfit::midi
