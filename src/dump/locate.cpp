#include "dump/locate.h"

#include <algorithm>
#include <map>
#include <set>

#include "dump/document.h"
#include "dump/text_values.h"

namespace downfit::dump {

namespace {

std::int64_t number_at(const schema::HeadPart& part, ByteView bytes) {
    std::int64_t number = 0;
    for (std::size_t i = 0; i < part.width; ++i) {
        number = number * 256 + bytes[part.little_endian ? part.width - 1 - i : i];
    }
    return number;
}

/// The record at the start of `bytes`, places counted from `begin`; nothing where it is cut.
std::optional<Record> read_record(const schema::Records& rule, ByteView bytes, std::size_t begin) {
    const std::size_t size = head_size(rule);
    if (size == 0 || bytes.size() < size) return std::nullopt;
    Record record;
    std::size_t length = rule.value_length;
    std::size_t at = 0;
    for (const schema::HeadPart& part : rule.head) {
        const std::int64_t number = number_at(part, bytes.subspan(at, part.width));
        if (part.kind == schema::HeadPart::Kind::id) record.id = number;
        if (part.kind == schema::HeadPart::Kind::version) record.version = number;
        if (part.kind == schema::HeadPart::Kind::length) {
            length = static_cast<std::size_t>(number);
            if (rule.counts_record && length < size) return std::nullopt;
            if (rule.counts_record) length -= size;
        }
        at += part.width;
    }
    if (length > bytes.size() - size) return std::nullopt;
    record.head = {begin, size};
    record.value = {begin + size, length};
    return record;
}

bool ends_here(const schema::Records& rule, ByteView bytes) {
    if (!rule.end) return false;
    std::size_t at = 0;
    for (const schema::HeadPart& part : rule.head) {
        if (part.kind == schema::HeadPart::Kind::id) {
            return bytes.size() >= at + part.width && number_at(part, bytes.subspan(at, part.width)) == *rule.end;
        }
        at += part.width;
    }
    return false;
}

}  // namespace

std::size_t head_size(const schema::Records& rule) {
    std::size_t size = 0;
    for (const schema::HeadPart& part : rule.head) size += part.width;
    return size;
}

RecordList split_records(const schema::Records& rule, ByteView bytes, std::size_t begin) {
    RecordList list;
    std::size_t at = std::min(rule.from, bytes.size());
    while (at < bytes.size() && !ends_here(rule, bytes.subspan(at))) {
        const auto record = read_record(rule, bytes.subspan(at), begin + at);
        if (!record) {
            list.complete = false;
            list.stopped_at = begin + at;
            break;
        }
        at = record->value.offset + record->value.length - begin;
        list.records.push_back(*record);
    }
    if (list.complete && at < bytes.size()) list.rest = {begin + at, bytes.size() - at};
    return list;
}

Located::Located(const schema::Instances& instances, const schema::Layout& layout, ByteView body, bool last_wins)
    : body_length_(body.size()) {
    if (layout.notation != schema::Notation::bytes) {
        Problems notes;
        const Result<Document> read = Document::read(layout.notation, {}, body, notes);
        locate_by_name(instances, layout, read ? &read.value() : nullptr, last_wins);
        return;
    }
    if (!layout.records) return;
    found_.resize(instances.anchors().size());
    locate(instances, -1, *layout.records, body, last_wins);
}

void Located::locate(const schema::Instances& instances, int parent, const schema::Records& rule, ByteView body,
                     bool last_wins) {
    const ByteSpan span = span_of(parent);
    const RecordList list = split_records(rule, body.subspan(span.offset, span.length), span.offset);
    if (complete_ && !list.complete) stopped_at_ = list.stopped_at;
    complete_ = complete_ && list.complete;
    if (list.rest.length > 0) rests_.push_back(list.rest);
    std::map<std::int64_t, std::vector<const Record*>> by_id;
    for (const Record& record : list.records) by_id[record.id].push_back(&record);
    std::map<std::int64_t, int> wanted;  // how many records with an id the release takes
    for (const schema::Anchor& anchor : instances.anchors()) {
        if (anchor.parent == parent) wanted[anchor.tag] = std::max(wanted[anchor.tag], anchor.nth);
    }
    for (const auto& [id, records] : by_id) {
        const auto known = wanted.find(id);
        if (known == wanted.end()) {
            for (const Record* record : records) unknown_.push_back(*record);
        } else {
            for (std::size_t i = static_cast<std::size_t>(known->second); i < records.size(); ++i) {
                repeated_.push_back(*records[i]);
            }
        }
    }
    for (std::size_t i = 0; i < instances.anchors().size(); ++i) {
        const schema::Anchor& anchor = instances.anchors()[i];
        if (anchor.parent != parent) continue;
        const auto records = by_id.find(anchor.tag);
        if (records == by_id.end() || static_cast<std::size_t>(anchor.nth) > records->second.size()) continue;
        const bool single = wanted[anchor.tag] == 1;
        found_[i] =
            single && last_wins ? *records->second.back() : *records->second[static_cast<std::size_t>(anchor.nth) - 1];
        if (anchor.group < 0) continue;
        const schema::GroupInstance& instance = instances.groups()[static_cast<std::size_t>(anchor.group)];
        const schema::Group& group = instances.release().groups[static_cast<std::size_t>(instance.group)];
        if (group.records) locate(instances, static_cast<int>(i), *group.records, body, last_wins);
    }
}

bool Located::present(int anchor) const {
    return anchor < 0 || (static_cast<std::size_t>(anchor) < found_.size() && found_[static_cast<std::size_t>(anchor)]);
}

ByteSpan Located::span_of(int anchor) const {
    if (anchor < 0) return {0, body_length_};
    if (!present(anchor)) return {};
    return found_[static_cast<std::size_t>(anchor)]->value;
}

ByteView Located::bytes_of(const schema::Field& field, ByteView body) const {
    const ByteSpan span = span_of(field.anchor);
    if (!present(field.anchor)) return {};
    return span.offset + span.length <= body.size() ? body.subspan(span.offset, span.length) : ByteView{};
}

std::vector<ByteSpan> Located::heads() const {
    std::vector<ByteSpan> heads;
    for (const std::optional<Record>& record : found_) {
        if (record) heads.push_back(record->head);
    }
    return heads;
}

std::optional<std::int64_t> Located::version_of(int anchor) const {
    if (anchor < 0 || !present(anchor)) return std::nullopt;
    return found_[static_cast<std::size_t>(anchor)]->version;
}

Stored read_located(const schema::Field& field, const schema::Storage& storage, const Located& located, ByteView body) {
    return read_field(storage, located.bytes_of(field, body));
}

bool write_located(const schema::Field& field, const schema::Storage& storage, const Located& located,
                   const Stored& stored, Bytes& body) {
    if (field.anchor < 0) return write_field(storage, stored, body);
    const ByteView value = located.bytes_of(field, body);
    if (storage.notation != schema::Notation::bytes) {
        const auto text = write_text_value(storage, stored, value);
        if (!text) return false;
        const ByteSpan place = located.span_of(field.anchor);
        const auto from = body.begin() + static_cast<std::ptrdiff_t>(place.offset);
        body.insert(body.erase(from, from + static_cast<std::ptrdiff_t>(place.length)), text->begin(), text->end());
        return true;
    }
    Bytes changed(value.begin(), value.end());
    if (!write_field(storage, stored, changed)) return false;
    const ByteSpan span = located.span_of(field.anchor);
    std::ranges::copy(changed, body.begin() + static_cast<std::ptrdiff_t>(span.offset));
    return true;
}

}  // namespace downfit::dump
