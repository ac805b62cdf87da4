#include "midi/crc.h"

namespace downfit::midi {

namespace {

std::uint32_t reflected(std::uint32_t value, unsigned bits) {
    std::uint32_t out = 0;
    for (unsigned i = 0; i < bits; ++i) {
        out = out << 1 | (value >> i & 1);
    }
    return out;
}

}  // namespace

void Crc::add(ByteView bytes) {
    const std::uint32_t top = 1u << (model_.width - 1);
    const std::uint32_t mask = top | (top - 1);
    for (const std::uint8_t byte : bytes) {
        const std::uint32_t entering = model_.reflect_in ? reflected(byte, 8) : byte;
        register_ ^= entering << (model_.width - 8);
        for (int bit = 0; bit < 8; ++bit) {
            const bool carry = (register_ & top) != 0;
            register_ = register_ << 1 & mask;
            if (carry) register_ ^= model_.poly;
        }
    }
}

std::uint32_t Crc::value() const {
    return (model_.reflect_out ? reflected(register_, model_.width) : register_) ^ model_.xor_out;
}

}  // namespace downfit::midi
