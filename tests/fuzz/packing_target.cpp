// Fuzz target: every packing, check and number coding. The first byte chooses, the next ones are settings, the rest is
// packed, and is taken for packed. Promised: decode(encode(x)) == x, and hostile input is refused, within limits.
#include <array>

#include "fuzz/target.h"
#include "midi/checks.h"
#include "midi/numbers.h"
#include "midi/packing.h"

namespace {

using namespace downfit;

constexpr std::uint32_t small_limit = 1u << 20;

midi::Packing packing_of(std::uint8_t choice, fuzz::Input& input) {
    switch (choice % 8) {
        case 0: return midi::SevenBit{static_cast<midi::SevenBit::Order>(input.byte() % 4)};
        case 1: return midi::Nibbles{static_cast<midi::Nibbles::Order>(input.byte() % 2)};
        case 2: return midi::SplitArrays{input.byte() % 10u};
        case 3: {
            Bytes key(input.byte() % 5);
            for (std::uint8_t& byte : key) byte = input.byte();
            return midi::FixedKey{key};
        }
        case 4: return midi::RollingKey{input.byte()};
        case 5: {
            const std::uint8_t escape = input.byte();
            return midi::RunLength{escape, input.byte()};
        }
        default: {
            const std::uint8_t settings = input.byte();
            return midi::Deflate{static_cast<midi::Deflate::Wrapper>(settings % 3), settings / 3 % 10, small_limit};
        }
    }
}

void try_packing(const midi::Packing& packing, ByteView bytes) {
    if (const auto packed = midi::encode(packing, bytes)) {
        midi::Origins origins;
        const auto plain = midi::decode(packing, packed.value(), &origins);
        fuzz::require(plain.ok() && fuzz::same(plain.value(), bytes), "what was packed is unpacked unchanged");
        fuzz::require(origins.size() == bytes.size(), "every unpacked byte has an origin");
        fuzz::require(midi::canonical(packing, packed.value()), "what was packed here is canonical");
    } else {
        fuzz::require(!packed.problems().empty(), "a failure has a reason");
    }
    midi::Origins origins;
    const auto plain = midi::decode(packing, bytes, &origins);
    const auto again = midi::decode(packing, bytes);
    fuzz::require(plain.ok() == again.ok(), "asking for origins changes nothing");
    if (!plain) {
        for (const Problem& problem : plain.problems()) {
            const auto* place = std::get_if<BytePlace>(&problem.place);
            if (place) fuzz::require(place->offset + place->length <= bytes.size(), "a fault lies inside the input");
        }
        return;
    }
    fuzz::require(plain.value() == again.value(), "asking for origins changes no byte");
    fuzz::require(origins.size() == plain.value().size(), "every unpacked byte has an origin");
    for (const std::uint32_t origin : origins) fuzz::require(origin < bytes.size(), "origins lie inside the input");
    if (std::holds_alternative<midi::Deflate>(packing)) {
        fuzz::require(plain.value().size() <= small_limit, "the limit of unpacked bytes holds");
    }
    const auto packed = midi::encode(packing, plain.value());
    fuzz::require(packed.ok() && midi::decode(packing, packed.value()).value() == plain.value(),
                  "what was unpacked can be packed and unpacked again");
}

void try_checks(std::uint8_t cut, ByteView bytes) {
    const std::size_t half = bytes.empty() ? 0 : cut % bytes.size();
    for (const midi::CheckRow& row : midi::checks) {
        midi::Checker checker(row.check);
        checker.add(bytes.first(half));
        checker.add(bytes.subspan(half));
        fuzz::require(checker.value() == midi::compute(row.check, bytes),
                      "cutting the bytes differently changes nothing");
        fuzz::require(row.width == 32 || checker.value() >> row.width == 0, "a check fits its width");
    }
}

void try_numbers(fuzz::Input& input) {
    const unsigned bits = input.byte() % 40u;
    const auto order = static_cast<midi::GroupOrder>(input.byte() % 2);
    const ByteView bytes = input.rest();
    if (const auto joined = midi::join_groups(bytes, bits, order)) {
        const auto split = midi::split_groups(joined.value(), bytes.size(), bits, order);
        fuzz::require(split.ok() && fuzz::same(split.value(), bytes), "groups of bits come back");
    }
    if (const auto word = midi::decode_sample_word(bytes, bits)) {
        const auto sent = midi::encode_sample_word(word.value(), bits);
        fuzz::require(sent.ok() && midi::decode_sample_word(sent.value(), bits).value() == word.value(),
                      "sample words come back");
    }
    if (bytes.size() < 4 || bits < 1 || bits > 32) return;
    const std::uint32_t mask = bits == 32 ? ~0u : (1u << bits) - 1;
    const std::uint32_t raw =
        (std::uint32_t{bytes[0]} << 24 | std::uint32_t{bytes[1]} << 16 | std::uint32_t{bytes[2]} << 8 | bytes[3]);
    for (int coding = 0; coding < 3; ++coding) {
        const auto sign = static_cast<midi::SignCoding>(coding);
        const auto value = midi::decode_signed(sign, raw, bits);
        const auto range = midi::signed_range(sign, bits);
        fuzz::require(value >= range.low && value <= range.high, "a signed number lies in its range");
        const auto back = midi::encode_signed(sign, value, bits);
        const bool minus_zero = sign == midi::SignCoding::sign_magnitude && value == 0;
        fuzz::require(back && (*back == (raw & mask) || minus_zero), "signed numbers come back");
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Input input(data, size);
    const std::uint8_t choice = input.byte();
    if (choice >= 0xF0) {
        try_numbers(input);
    } else if (choice >= 0xE0) {
        const std::uint8_t cut = input.byte();
        try_checks(cut, input.rest());
    } else {
        const midi::Packing packing = packing_of(choice, input);
        try_packing(packing, input.rest());
    }
    return 0;
}
