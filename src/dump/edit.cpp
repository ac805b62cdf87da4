#include "dump/edit.h"

#include <algorithm>
#include <utility>

#include "dump/document.h"
#include "dump/text_values.h"

namespace downfit::dump {

namespace {

using schema::HeadPart;

const HeadPart* head_part(const schema::Records& rule, HeadPart::Kind kind) {
    const auto found = std::ranges::find(rule.head, kind, &HeadPart::kind);
    return found == rule.head.end() ? nullptr : &*found;
}

/// Where that part stands in a head.
std::size_t offset_in_head(const schema::Records& rule, HeadPart::Kind kind) {
    std::size_t at = 0;
    for (const HeadPart& part : rule.head) {
        if (part.kind == kind) break;
        at += part.width;
    }
    return at;
}

std::int64_t number_in(const HeadPart& part, ByteView bytes) {
    std::int64_t number = 0;
    for (std::size_t i = 0; i < part.width; ++i)
        number = number * 256 + bytes[part.little_endian ? part.width - 1 - i : i];
    return number;
}

/// False where the number has no room.
bool put_number(const HeadPart& part, std::int64_t number, std::uint8_t* bytes) {
    if (number < 0 || (part.width < 8 && number >> (8 * part.width) != 0)) return false;
    for (std::size_t i = 0; i < part.width; ++i) {
        bytes[part.little_endian ? i : part.width - 1 - i] = static_cast<std::uint8_t>(number & 0xFF);
        number >>= 8;
    }
    return true;
}

/// Bytes that the checks after the last packing store at the end of what becomes the body.
std::size_t stored_at_end(const schema::Framing& framing) {
    std::size_t bytes = 0;
    for (const schema::Step& step : framing.steps) {
        std::int64_t at = 0;
        if (const auto* check = std::get_if<schema::CheckStep>(&step)) at = check->at;
        if (const auto* length = std::get_if<schema::LengthStep>(&step)) at = length->at;
        if (std::holds_alternative<schema::UnpackStep>(step)) bytes = 0;
        if (at < 0) bytes = std::max(bytes, static_cast<std::size_t>(-at));
    }
    return bytes;
}

}  // namespace

std::size_t reach_of(const schema::Storage& storage) {
    if (storage.coding == schema::Coding::text) {
        return static_cast<std::size_t>(std::max<std::int64_t>(storage.text_at, 0)) + storage.text_length;
    }
    std::int64_t end = 0;
    for (const schema::BitPiece& piece : storage.pieces) end = std::max(end, piece.byte + 1);
    return static_cast<std::size_t>(end);
}

BodyEditor::BodyEditor(const schema::Instances& instances, const schema::Layout& layout, const Terms& terms,
                       Bytes& body)
    : instances_(instances), layout_(layout), terms_(terms), body_(body) {}

const Located& BodyEditor::located() {
    if (!located_) located_.emplace(instances_, layout_, body_, terms_.last_wins);
    return *located_;
}

std::size_t BodyEditor::tail() const {
    return stored_at_end(terms_.framing);
}

const schema::Records* BodyEditor::run_around(int anchor) const {
    const int parent = instances_.anchors()[static_cast<std::size_t>(anchor)].parent;
    if (parent < 0) return layout_.records ? &*layout_.records : nullptr;
    const int group = instances_.anchors()[static_cast<std::size_t>(parent)].group;
    if (group < 0) return nullptr;
    const auto& instance = instances_.groups()[static_cast<std::size_t>(group)];
    const auto& records = instances_.release().groups[static_cast<std::size_t>(instance.group)].records;
    return records ? &*records : nullptr;
}

bool BodyEditor::put(const schema::Field& field, std::size_t place, const Stored& stored) {
    const schema::Storage& storage = place < field.reads.size() ? field.reads[place] : field.storage;
    const Bytes before = body_;
    const bool by_name = storage.notation != schema::Notation::bytes;
    bool done = false;
    if (by_name && !located().present(field.anchor)) {
        done = add_named(field.anchor, storage, stored);
    } else {
        done = (by_name || room_for(field, storage, stored)) && write_located(field, storage, located(), stored, body_);
    }
    located_.reset();
    if (!done) body_ = before;
    return done;
}

bool BodyEditor::add(int anchor) {
    const Bytes before = body_;
    const bool done = make(anchor, 0);
    located_.reset();
    if (!done) body_ = before;
    return done;
}

bool BodyEditor::room_for(const schema::Field& field, const schema::Storage& storage, const Stored& stored) {
    std::size_t needed = reach_of(storage);
    if (stored.kind == Stored::Kind::text) {
        needed = static_cast<std::size_t>(std::max<std::int64_t>(storage.text_at, 0)) +
                 std::clamp<std::size_t>(stored.text.size(), 1, std::max<std::size_t>(storage.text_length, 1));
    }
    if (field.anchor < 0) {
        if (needed <= body_.size()) return true;
        return needed <= layout_.body_size && resize(layout_.body_size);
    }
    if (!located().present(field.anchor)) return make(field.anchor, needed);
    return located().span_of(field.anchor).length >= needed || set_length(field.anchor, needed);
}

bool BodyEditor::make(int anchor, std::size_t length) {
    if (located().present(anchor)) return true;
    const schema::Anchor& wanted = instances_.anchors()[static_cast<std::size_t>(anchor)];
    if (wanted.pick) return false;
    if (wanted.parent >= 0 && !make(wanted.parent, 0)) return false;
    const schema::Records* rule = run_around(anchor);
    if (rule == nullptr) return false;
    const bool inner_run =
        wanted.group >= 0 &&
        instances_.release()
            .groups[static_cast<std::size_t>(instances_.groups()[static_cast<std::size_t>(wanted.group)].group)]
            .records;
    for (const schema::Field& field : instances_.fields()) {
        if (!inner_run && field.anchor == anchor) length = std::max(length, reach_of(field.storage));
    }
    if (head_part(*rule, HeadPart::Kind::length) == nullptr) {
        if (length > rule->value_length) return false;
        length = rule->value_length;
    }
    const bool done = insert_record(anchor, *rule, length);
    located_.reset();
    return done && located().present(anchor);
}

/// Behind the last record of its run with the same or a lower number.
bool BodyEditor::insert_record(int anchor, const schema::Records& rule, std::size_t length) {
    const schema::Anchor& wanted = instances_.anchors()[static_cast<std::size_t>(anchor)];
    const ByteSpan run = located().span_of(wanted.parent);
    const RecordList list = split_records(rule, ByteView(body_).subspan(run.offset, run.length), run.offset);
    if (!list.complete) return false;
    const auto same = std::ranges::count(list.records, wanted.tag, &Record::id);
    if (same != wanted.nth - 1) return false;
    std::size_t at = run.offset + std::min(rule.from, run.length);
    for (const Record& record : list.records) {
        if (record.id <= wanted.tag) at = record.value.offset + record.value.length;
    }
    Bytes record(head_size(rule) + length, 0);
    for (const HeadPart& part : rule.head) {
        std::int64_t number = wanted.tag;
        if (part.kind == HeadPart::Kind::length) {
            number = static_cast<std::int64_t>(length + (rule.counts_record ? head_size(rule) : 0));
        } else if (part.kind == HeadPart::Kind::version) {
            number = 1;
        }
        if (!put_number(part, number, record.data() + offset_in_head(rule, part.kind))) return false;
    }
    return splice(wanted.parent, at, 0, record);
}

bool BodyEditor::set_length(int anchor, std::size_t length) {
    const schema::Records* rule = run_around(anchor);
    if (rule == nullptr || head_part(*rule, HeadPart::Kind::length) == nullptr) return false;
    const ByteSpan value = located().span_of(anchor);
    const bool longer = length > value.length;
    const std::size_t at = value.offset + std::min(length, value.length);
    return splice(anchor, at, longer ? 0 : value.length - length, Bytes(longer ? length - value.length : 0, 0));
}

/// Replaces bytes inside the value of `anchor` (-1: the body) and says so in all heads around.
bool BodyEditor::splice(int anchor, std::size_t at, std::size_t remove, const Bytes& put) {
    const std::size_t size = body_.size();
    const auto by = static_cast<std::ptrdiff_t>(put.size()) - static_cast<std::ptrdiff_t>(remove);
    if (!lengthen_heads(anchor, by)) return false;
    const auto from = body_.begin() + static_cast<std::ptrdiff_t>(at);
    body_.insert(body_.erase(from, from + static_cast<std::ptrdiff_t>(remove)), put.begin(), put.end());
    located_.reset();
    return settle_size(size);
}

bool BodyEditor::lengthen_heads(int anchor, std::ptrdiff_t by) {
    for (; anchor >= 0; anchor = instances_.anchors()[static_cast<std::size_t>(anchor)].parent) {
        const schema::Records* rule = run_around(anchor);
        const HeadPart* part = rule == nullptr ? nullptr : head_part(*rule, HeadPart::Kind::length);
        if (part == nullptr) return by == 0;
        std::uint8_t* bytes = body_.data() + located().span_of(anchor).offset - head_size(*rule) +
                              offset_in_head(*rule, HeadPart::Kind::length);
        if (!put_number(*part, number_in(*part, ByteView(bytes, part->width)) + by, bytes)) return false;
    }
    return true;
}

/// A body of fixed size keeps it: what nobody reads behind the end mark makes room, or fills the gap.
bool BodyEditor::settle_size(std::size_t size) {
    const bool fixed = terms_.fixed || (layout_.body_size > 0 && size == layout_.body_size);
    if (!fixed || body_.size() == size) return true;
    if (!layout_.records) return false;
    const RecordList list = split_records(*layout_.records, body_, 0);
    const HeadPart* id = head_part(*layout_.records, HeadPart::Kind::id);
    if (!list.complete || list.rest.length == 0 || id == nullptr) return false;
    const std::size_t mark = offset_in_head(*layout_.records, HeadPart::Kind::id) + id->width;
    const auto behind = body_.begin() + static_cast<std::ptrdiff_t>(list.rest.offset + mark);
    if (body_.size() < size) {
        body_.insert(behind, size - body_.size(), 0);
        return true;
    }
    const std::size_t over = body_.size() - size;
    if (list.rest.length < mark + over + tail()) return false;
    body_.erase(behind, behind + static_cast<std::ptrdiff_t>(over));
    return true;
}

bool BodyEditor::set_version(int anchor, std::int64_t version) {
    const schema::Records* rule = anchor < 0 ? nullptr : run_around(anchor);
    const HeadPart* part = rule == nullptr ? nullptr : head_part(*rule, HeadPart::Kind::version);
    if (part == nullptr || !located().present(anchor)) return false;
    std::uint8_t* bytes = body_.data() + located().span_of(anchor).offset - head_size(*rule) +
                          offset_in_head(*rule, HeadPart::Kind::version);
    located_.reset();
    return put_number(*part, version, bytes);
}

bool BodyEditor::drop_unknown() {
    const Bytes before = body_;
    while (layout_.notation == schema::Notation::bytes && !located().unknown().empty()) {
        const Record record = located().unknown().back();
        int around = -1;
        for (std::size_t i = 0; i < instances_.anchors().size(); ++i) {
            const ByteSpan span = located().span_of(static_cast<int>(i));
            const bool inside = located().present(static_cast<int>(i)) && record.head.offset >= span.offset &&
                                record.value.offset + record.value.length <= span.offset + span.length;
            if (inside) around = static_cast<int>(i);  // inner anchors come after outer ones
        }
        if (splice(around, record.head.offset, record.head.length + record.value.length, {})) continue;
        body_ = before;
        located_.reset();
        return false;
    }
    return layout_.notation == schema::Notation::bytes;
}

bool BodyEditor::resize(std::size_t size) {
    const std::size_t kept = std::min(tail(), body_.size());
    if (terms_.fixed || layout_.records || layout_.notation != schema::Notation::bytes || size < kept) return false;
    located_.reset();
    const auto end = body_.end() - static_cast<std::ptrdiff_t>(kept);
    if (size >= body_.size()) {
        body_.insert(end, size - body_.size(), 0);
    } else {
        body_.erase(end - static_cast<std::ptrdiff_t>(body_.size() - size), end);
    }
    return true;
}

}  // namespace downfit::dump
