#include "dump/claims.h"

#include <algorithm>
#include <variant>

#include "dump/locate.h"
#include "dump/told.h"

namespace downfit::dump {

namespace {

constexpr std::uint8_t all_bits = 0xFF;

/// Collects claims on the bytes of one body.
class Claims {
public:
    explicit Claims(std::size_t size) : bytes_(size) {}

    void add(std::size_t at, std::uint8_t bits, Claim by) {
        if (at >= bytes_.size()) return;
        bytes_[at].by = std::max(bytes_[at].by, by);
        bytes_[at].bits |= bits;
    }

    void add(ByteSpan span, Claim by) {
        for (std::size_t i = 0; i < span.length && span.offset + i < bytes_.size(); ++i) {
            add(span.offset + i, all_bits, by);
        }
    }

    /// A field's bits inside the span that its places count from.
    void add(const schema::Storage& storage, ByteSpan inside) {
        const auto add_one = [&](std::int64_t at, std::uint8_t bits) {
            if (at < 0 || at >= static_cast<std::int64_t>(inside.length)) return;
            add(inside.offset + static_cast<std::size_t>(at), bits, Claim::parameter);
        };
        if (storage.coding == schema::Coding::text) {
            for (std::size_t i = 0; i < storage.text_length; ++i)
                add_one(storage.text_at + static_cast<std::int64_t>(i), all_bits);
        }
        for (const schema::BitPiece& piece : storage.pieces) {
            add_one(piece.byte, static_cast<std::uint8_t>(((1U << piece.width) - 1U) << piece.bit));
        }
    }

    std::vector<ClaimedByte> take() && { return std::move(bytes_); }

private:
    std::vector<ClaimedByte> bytes_;
};

void add_framing(const schema::Framing& framing, std::size_t size, Claims& claims) {
    if (framing.stamp) claims.add({framing.stamp->at, framing.stamp->length}, Claim::stamp);
    for (const schema::BodyBytes& test : framing.empty) claims.add({test.at, test.bytes.size()}, Claim::mark);
    if (framing.filled) claims.add({framing.filled->at, framing.filled->bytes.size()}, Claim::mark);
    // Those of an image stand somewhere else.
    if (!framing.presets.empty()) return;
    for (const ByteSpan place : told_places(framing, size)) claims.add(place, Claim::told);
}

void add_fields(const schema::Instances& instances, const schema::Layout& layout, bool settings, ByteView body,
                Claims& claims) {
    const Located located(instances, layout, body);
    for (const schema::Field& field : instances.fields()) {
        if ((instances.parameter(field).scope == schema::Scope::unit) != settings) continue;
        claims.add(field.storage, located.span_of(field.anchor));
        for (const schema::Storage& read : field.reads) claims.add(read, located.span_of(field.anchor));
    }
    for (const ByteSpan head : located.heads()) claims.add(head, Claim::head);
    for (const ByteSpan rest : located.rests()) claims.add(rest, Claim::end);
}

void add_records(const schema::Records& rule, ByteView body, Claims& claims) {
    const RecordList list = split_records(rule, body, 0);
    for (const Record& record : list.records) claims.add(record.head, Claim::head);
    claims.add(list.rest, Claim::end);
}

}  // namespace

std::vector<ClaimedByte> claim_bytes(const schema::Instances* instances, const schema::Layout& layout,
                                     const schema::Framing* framing, ByteView body) {
    Claims claims(body.size());
    const bool settings = framing != nullptr && framing->holds == schema::Holds::unit_settings;
    if (instances != nullptr) {
        add_fields(*instances, layout, settings, body, claims);
    } else if (layout.records) {
        add_records(*layout.records, body, claims);
    }
    for (const ByteSpan span : layout.volatile_bytes) claims.add(span, Claim::changing);
    if (framing != nullptr) add_framing(*framing, body.size(), claims);
    return std::move(claims).take();
}

std::vector<ByteSpan> told_places(const schema::Framing& framing, std::size_t size) {
    std::vector<ByteSpan> places;
    for (auto step = framing.steps.rbegin(); step != framing.steps.rend(); ++step) {
        if (std::holds_alternative<schema::UnpackStep>(*step)) break;
        if (const auto place = number_place(*step, size)) places.push_back(*place);
    }
    return places;
}

}  // namespace downfit::dump
