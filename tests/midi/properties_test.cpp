// Properties that hold for any bytes: nothing is lost in framing, and nothing in packing.

#include <algorithm>
#include <string>
#include <vector>

#include "midi/checks.h"
#include "midi/identity.h"
#include "midi/numbers.h"
#include "midi/packing.h"
#include "midi/sysex.h"
#include "support/catch.h"
#include "support/property.h"

using namespace downfit;
using namespace downfit::midi;
using testing::holds;

namespace {

struct NamedPacking {
    std::string name;
    Packing packing;
    bool in_place;  ///< every byte unpacked has a place of its own in the packed ones
};

/// One of each packing, with the settings that matter.
std::vector<NamedPacking> packings() {
    return {{"seven bits, first high", SevenBit{SevenBit::Order::first_high}, true},
            {"seven bits, first low", SevenBit{SevenBit::Order::first_low}, true},
            {"seven bits, auxiliary last", SevenBit{SevenBit::Order::aux_last}, true},
            {"seven bits, stream", SevenBit{SevenBit::Order::stream}, true},
            {"nibbles, high first", Nibbles{Nibbles::Order::high_first}, true},
            {"nibbles, low first", Nibbles{Nibbles::Order::low_first}, true},
            {"arrays, 7 low bits", SplitArrays{7}, true},
            {"arrays, 4 low bits", SplitArrays{4}, true},
            {"arrays, 1 low bit", SplitArrays{1}, true},
            {"fixed key", FixedKey{{0x5A, 0x13, 0xC4}}, true},
            {"rolling key", RollingKey{0x21}, true},
            {"runs, escape 7F", RunLength{0x7F, 0x7F}, false},
            {"runs, escape 00", RunLength{0x00, 0xFF}, false},
            {"runs of one", RunLength{0xFF, 0x01}, false},
            {"deflate, bare", Deflate{Deflate::Wrapper::raw, 9, 1u << 20}, false},
            {"deflate, zlib", Deflate{Deflate::Wrapper::zlib, 6, 1u << 20}, false},
            {"deflate, gzip, stored", Deflate{Deflate::Wrapper::gzip, 0, 1u << 20}, false}};
}

/// Bytes among which runs and status bytes are common.
rc::Gen<Bytes> lively_bytes() {
    const auto byte = rc::gen::weightedOneOf<std::uint8_t>({{4, rc::gen::inRange<std::uint8_t>(0, 0x80)},
                                                            {3, rc::gen::element<std::uint8_t>(0x00, 0x7F, 0x7D, 0xFF)},
                                                            {2, rc::gen::element<std::uint8_t>(0xF0, 0xF7)},
                                                            {1, rc::gen::arbitrary<std::uint8_t>()}});
    return rc::gen::container<Bytes>(byte);
}

/// Each byte repeated a few times, so that there are runs to find.
Bytes with_runs(const Bytes& bytes) {
    Bytes out;
    for (const std::uint8_t byte : bytes) out.insert(out.end(), 1u + byte % 7u * (byte % 3u), byte);
    return out;
}

}  // namespace

TEST_CASE("any bytes come back from every packing", "[midi][property]") {
    for (const auto& [name, packing, in_place] : packings()) {
        holds("unpacked equals plain, origins point into the input: " + name, [&packing = packing] {
            const Bytes plain = with_runs(*lively_bytes());
            const auto packed = encode(packing, plain);
            RC_ASSERT(packed.ok());
            Origins origins;
            const auto again = decode(packing, packed.value(), &origins);
            RC_ASSERT(again.ok());
            RC_ASSERT(again.value() == plain);
            RC_ASSERT(decode(packing, packed.value()).value() == plain);
            RC_ASSERT(origins.size() == plain.size());
            const auto count = packed.value().size();
            RC_ASSERT(std::all_of(origins.begin(), origins.end(), [count](auto from) { return from < count; }));
            RC_ASSERT(canonical(packing, packed.value()));
        });
    }
}

TEST_CASE("changing the byte of origin changes the byte unpacked", "[midi][property]") {
    for (const auto& [name, packing, in_place] : packings()) {
        if (!in_place) continue;
        holds("the origin is a true one: " + name, [&packing = packing] {
            const Bytes plain = *rc::gen::nonEmpty(lively_bytes());
            Bytes packed = encode(packing, plain).value();
            Origins origins;
            RC_ASSERT(decode(packing, packed, &origins).ok());
            const auto index = *rc::gen::inRange<std::size_t>(0, plain.size());
            bool changed = false;
            for (int bit = 0; bit < 7; ++bit) {
                Bytes other = packed;
                other[origins[index]] ^= static_cast<std::uint8_t>(1 << bit);
                const auto result = decode(packing, other);
                changed = changed || (result && result.value()[index] != plain[index]);
            }
            RC_ASSERT(changed);
        });
    }
}

TEST_CASE("any bytes can be given to every decoder", "[midi][property]") {
    for (const auto& [name, packing, in_place] : packings()) {
        holds("a value or a problem with a place inside: " + name, [&packing = packing] {
            const Bytes bytes = *lively_bytes();
            Origins origins;
            const auto result = decode(packing, bytes, &origins);
            if (result) {
                RC_ASSERT(origins.size() == result.value().size());
                RC_ASSERT(decode(packing, bytes).value() == result.value());
            } else {
                const auto* place = std::get_if<BytePlace>(&result.problems().front().place);
                RC_ASSERT(place != nullptr);
                RC_ASSERT(place->offset <= bytes.size());
            }
        });
    }
}

TEST_CASE("framing covers every byte of any input", "[midi][property]") {
    holds("spans follow each other and messages are written back alike", [] {
        const Bytes bytes = *lively_bytes();
        const auto file_offset = *rc::gen::inRange<std::size_t>(0, 1000);
        std::size_t at = file_offset;
        for (const Item& item : read_sysex(bytes, file_offset)) {
            RC_ASSERT(item.span.offset == at);
            RC_ASSERT(item.span.length > 0u);
            at += item.span.length;
            if (item.kind == ItemKind::junk) continue;
            for (std::size_t i = 0; i < item.content.size(); ++i) {
                RC_ASSERT(bytes[content_offset(item, i) - file_offset] == item.content[i]);
            }
            RC_ASSERT((item.damage == Damage::none) == (item.kind == ItemKind::message));
            if (item.kind != ItemKind::message) continue;
            const ByteView original = ByteView(bytes).subspan(item.span.offset - file_offset, item.span.length);
            const auto written = frame(item.content, item.real_time, item.span.offset);
            RC_ASSERT(written.ok());
            RC_ASSERT(std::ranges::equal(written.value(), original));
        }
        RC_ASSERT(at == file_offset + bytes.size());
    });
}

TEST_CASE("any content can be given to the identity reader", "[midi][property]") {
    holds("what is read is built alike", [] {
        Bytes content{0x7E, 0x10, 0x06, 0x02};
        const Bytes rest = *rc::gen::resize(14, rc::gen::container<Bytes>(rc::gen::inRange<std::uint8_t>(0, 0x80)));
        content.insert(content.end(), rest.begin(), rest.end());
        const auto identity = parse_identity_reply(content);
        if (identity) RC_ASSERT(build_identity_reply(identity.value()).value() == content);
    });
}

TEST_CASE("a complement makes its sum vanish", "[midi][property]") {
    holds("sum and complement", [] {
        Bytes bytes = *rc::gen::arbitrary<Bytes>();
        Bytes closed = bytes;
        closed.push_back(static_cast<std::uint8_t>(compute(Check::sum_7_complement, bytes)));
        RC_ASSERT(compute(Check::sum_7, closed) == 0u);
        bytes.push_back(static_cast<std::uint8_t>(compute(Check::sum_8_complement, bytes)));
        RC_ASSERT(compute(Check::sum_8, bytes) == 0u);
    });
}

TEST_CASE("numbers come back from their groups", "[midi][property]") {
    holds("split and joined", [] {
        const auto bits = *rc::gen::inRange<unsigned>(1, 9);
        const auto count = *rc::gen::inRange<std::size_t>(0, 64 / bits + 1);
        const auto room = static_cast<unsigned>(count * bits);
        const auto any = *rc::gen::arbitrary<std::uint64_t>();
        const std::uint64_t value = room == 0 ? 0 : any >> (64 - room);
        for (const GroupOrder order : {GroupOrder::high_first, GroupOrder::low_first}) {
            const auto groups = split_groups(value, count, bits, order);
            RC_ASSERT(groups.ok());
            RC_ASSERT(join_groups(groups.value(), bits, order).value() == value);
        }
    });
    holds("signed fields", [] {
        const auto bits = *rc::gen::inRange<unsigned>(1, 33);
        const auto raw = *rc::gen::arbitrary<std::uint32_t>() >> (32 - bits);
        for (const SignCoding coding : {SignCoding::twos_complement, SignCoding::offset_binary}) {
            RC_ASSERT(encode_signed(coding, decode_signed(coding, raw, bits), bits) == raw);
        }
    });
}
