#include "study/moved_parameters.h"

#include <algorithm>

#include "base/text.h"

namespace downfit::study {

namespace {

std::string stored_text(const dump::Stored& stored) {
    switch (stored.kind) {
        case dump::Stored::Kind::none: return {};
        case dump::Stored::Kind::whole: return std::to_string(stored.whole);
        case dump::Stored::Kind::real: return number_text(stored.real);
        case dump::Stored::Kind::text: break;
    }
    return stored.text;
}

std::uint8_t storage_bits(const schema::Storage& storage, ByteSpan inside, std::size_t byte) {
    if (byte < inside.offset || byte >= inside.offset + inside.length) return 0;
    const auto at = static_cast<std::int64_t>(byte - inside.offset);
    if (storage.coding == schema::Coding::text) {
        const auto end = storage.text_at + static_cast<std::int64_t>(storage.text_length);
        return at >= storage.text_at && at < end ? 0xFF : 0;
    }
    unsigned bits = 0;
    for (const schema::BitPiece& piece : storage.pieces) {
        if (piece.byte == at) bits |= ((1U << piece.width) - 1U) << piece.bit;
    }
    return static_cast<std::uint8_t>(bits);
}

}  // namespace

MovedParameters::MovedParameters(const schema::Instances* instances, const schema::Layout& layout,
                                 const schema::Device& device, const dump::Entry& after_entry, ByteView before,
                                 ByteView after)
    : instances_(instances) {
    if (instances == nullptr) return;
    settings_ = device.framings[after_entry.framing].holds == schema::Holds::unit_settings;
    const std::size_t order = instances->release().order;
    before_ = {dump::Located(*instances, layout, before),
               dump::decode_tree(*instances, before, order, &device, after_entry.layout)};
    after_ = {dump::Located(*instances, layout, after),
              dump::decode_tree(*instances, after, order, &device, after_entry.layout)};
}

std::uint8_t MovedParameters::bits_of(std::size_t field, const Side& side, std::size_t byte) const {
    const schema::Field& one = instances_->fields()[field];
    if ((instances_->parameter(one).scope == schema::Scope::unit) != settings_) return 0;
    const ByteSpan inside = side.located->span_of(one.anchor);
    std::uint8_t bits = storage_bits(one.storage, inside, byte);
    for (const schema::Storage& read : one.reads) bits |= storage_bits(read, inside, byte);
    return bits;
}

Covering MovedParameters::covering(std::size_t field) const {
    const dump::Leaf& before = before_.leaves[field];
    const dump::Leaf& after = after_.leaves[field];
    return {instances_->fields()[field].id, stored_text(before.stored), stored_text(after.stored), before.value,
            after.value};
}

std::vector<Covering> MovedParameters::with(const std::vector<MovedBits>& moved) const {
    std::vector<Covering> found;
    for (std::size_t field = 0; instances_ != nullptr && field < instances_->fields().size(); ++field) {
        const bool touched = std::any_of(moved.begin(), moved.end(), [&](const MovedBits& byte) {
            return ((bits_of(field, before_, byte.before) | bits_of(field, after_, byte.after)) & byte.bits) != 0;
        });
        if (touched) found.push_back(covering(field));
    }
    return found;
}

std::vector<Covering> MovedParameters::by_name(std::optional<ByteSpan> before, std::optional<ByteSpan> after) const {
    std::vector<Covering> found;
    const auto stands = [](const Side& side, int anchor, const std::optional<ByteSpan>& span) {
        if (!span || anchor < 0 || !side.located->present(anchor)) return false;
        const ByteSpan own = side.located->span_of(anchor);
        return span->offset == own.offset || (span->offset > own.offset && span->offset < own.offset + own.length);
    };
    for (std::size_t field = 0; instances_ != nullptr && field < instances_->fields().size(); ++field) {
        const int anchor = instances_->fields()[field].anchor;
        if (stands(before_, anchor, before) || stands(after_, anchor, after)) found.push_back(covering(field));
    }
    return found;
}

std::vector<Covering> MovedParameters::in(std::size_t at, std::size_t length, bool in_after) const {
    std::vector<Covering> found;
    const Side& side = in_after ? after_ : before_;
    for (std::size_t field = 0; instances_ != nullptr && field < instances_->fields().size(); ++field) {
        bool touched = false;
        for (std::size_t i = at; i < at + length && !touched; ++i) touched = bits_of(field, side, i) != 0;
        if (touched) found.push_back(covering(field));
    }
    return found;
}

}  // namespace downfit::study
