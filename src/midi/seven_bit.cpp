#include "midi/seven_bit.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

using Order = SevenBit::Order;

constexpr std::size_t plain_group = 7;
constexpr std::size_t packed_group = 8;

/// The bit of the auxiliary byte that holds the top bit of a group's byte `index`.
std::uint8_t auxiliary_bit(Order order, std::size_t index) {
    return static_cast<std::uint8_t>(order == Order::first_low ? 1u << index : 0x40u >> index);
}

Bytes encode_groups(Order order, ByteView plain) {
    Bytes out;
    out.reserve(plain.size() + plain.size() / plain_group + 1);
    for (std::size_t start = 0; start < plain.size(); start += plain_group) {
        const ByteView group = plain.subspan(start, std::min(plain_group, plain.size() - start));
        std::uint8_t auxiliary = 0;
        for (std::size_t i = 0; i < group.size(); ++i) {
            if (group[i] > 0x7F) auxiliary = static_cast<std::uint8_t>(auxiliary | auxiliary_bit(order, i));
        }
        if (order != Order::aux_last) out.push_back(auxiliary);
        for (const std::uint8_t byte : group) out.push_back(byte & 0x7F);
        if (order == Order::aux_last) out.push_back(auxiliary);
    }
    return out;
}

Bytes encode_stream(ByteView plain) {
    Bytes out;
    out.reserve(plain.size() + plain.size() / plain_group + 1);
    std::uint32_t held = 0;
    unsigned bits = 0;
    for (const std::uint8_t byte : plain) {
        held = held << 8 | byte;
        for (bits += 8; bits >= 7; bits -= 7) out.push_back(held >> (bits - 7) & 0x7F);
    }
    if (bits > 0) out.push_back(held << (7 - bits) & 0x7F);
    return out;
}

Bytes decode_groups(Order order, ByteView packed, Origins* origins) {
    Bytes out;
    out.reserve(packed.size());
    for (std::size_t start = 0; start < packed.size(); start += packed_group) {
        const ByteView group = packed.subspan(start, std::min(packed_group, packed.size() - start));
        const bool last = order == Order::aux_last;
        const std::uint8_t auxiliary = last ? group.back() : group.front();
        for (std::size_t i = 0; i + 1 < group.size(); ++i) {
            const std::size_t index = last ? i : i + 1;
            const bool top = (auxiliary & auxiliary_bit(order, i)) != 0;
            out.push_back(static_cast<std::uint8_t>(group[index] | (top ? 0x80 : 0)));
            if (origins) origins->push_back(static_cast<std::uint32_t>(start + index));
        }
    }
    return out;
}

Bytes decode_stream(ByteView packed, Origins* origins) {
    Bytes out;
    out.reserve(packed.size());
    std::uint32_t held = 0;
    unsigned bits = 0;
    for (std::size_t i = 0; i < packed.size(); ++i) {
        held = held << 7 | packed[i];
        bits += 7;
        if (bits < 8) continue;
        bits -= 8;
        out.push_back(static_cast<std::uint8_t>(held >> bits));
        // This byte gave the low 7 - bits of the eight, the byte before it gave the others.
        if (origins) origins->push_back(static_cast<std::uint32_t>(7 - bits > 4 ? i : i - 1));
    }
    return out;
}

}  // namespace

Result<Bytes> encode(const SevenBit& packing, ByteView plain) {
    return packing.order == Order::stream ? encode_stream(plain) : encode_groups(packing.order, plain);
}

Result<Bytes> decode(const SevenBit& packing, ByteView packed, Origins* origins) {
    if (origins) origins->clear();
    const auto wide = std::find_if(packed.begin(), packed.end(), [](std::uint8_t byte) { return byte > 0x7F; });
    if (wide != packed.end()) {
        return byte_problem(static_cast<std::size_t>(wide - packed.begin()), 1,
                            "byte " + hex_byte(*wide) + " has its top bit set", "00 to 7F");
    }
    if (packed.size() % packed_group == 1) {
        return byte_problem(packed.size() - 1, 1, "a single byte is left after the last whole group of eight",
                            "nothing, or two to eight bytes");
    }
    if (packing.order == Order::stream) return decode_stream(packed, origins);
    return decode_groups(packing.order, packed, origins);
}

}  // namespace downfit::midi
