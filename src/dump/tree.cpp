#include "dump/tree.h"

#include <algorithm>
#include <variant>

#include "base/text.h"
#include "dump/conditions.h"
#include "dump/locate.h"
#include "dump/told.h"
#include "dump/value_text.h"

namespace downfit::dump {

namespace {

using schema::Framing;
using schema::Step;

/// Marks bytes of a body as explained.
class Coverage {
public:
    explicit Coverage(std::size_t size) : covered_(size, false) {}

    void add(std::int64_t at, std::size_t length) {
        for (std::size_t i = 0; i < length; ++i) {
            const std::int64_t byte = at + static_cast<std::int64_t>(i);
            if (byte < 0) continue;
            if (static_cast<std::uint64_t>(byte) >= covered_.size()) break;
            covered_[static_cast<std::size_t>(byte)] = true;
        }
    }

    void add(ByteSpan span) { add(static_cast<std::int64_t>(span.offset), span.length); }

    /// A field's bytes inside the span that its places count from.
    void add(const schema::Storage& storage, ByteSpan inside) {
        const auto add_one = [&](std::int64_t at, std::size_t length) {
            const auto end = static_cast<std::int64_t>(inside.length);
            if (at < 0 || at >= end) return;
            add(static_cast<std::int64_t>(inside.offset) + at, std::min(length, static_cast<std::size_t>(end - at)));
        };
        if (storage.coding == schema::Coding::text) add_one(storage.text_at, storage.text_length);
        for (const schema::BitPiece& piece : storage.pieces) add_one(piece.byte, 1);
    }

    std::vector<std::size_t> gaps() const {
        std::vector<std::size_t> bytes;
        for (std::size_t i = 0; i < covered_.size(); ++i) {
            if (!covered_[i]) bytes.push_back(i);
        }
        return bytes;
    }

private:
    std::vector<bool> covered_;
};

/// Checks and lengths that stand in the body: those after which nothing is unpacked any more. Those of an image stand
/// somewhere else.
void add_checks(const Framing& framing, std::size_t size, Coverage& coverage) {
    if (!framing.presets.empty()) return;
    for (auto step = framing.steps.rbegin(); step != framing.steps.rend(); ++step) {
        if (std::holds_alternative<schema::UnpackStep>(*step)) return;
        if (const auto place = number_place(*step, size)) coverage.add(*place);
    }
}

/// The layout of a body: the one that is named, or the one that holds presets.
const schema::Layout& layout_in(const schema::Instances& instances, const schema::Device* device,
                                std::optional<std::size_t> layout) {
    static const schema::Layout plain;
    const std::vector<schema::Layout>& layouts = instances.release().layouts;
    if (layout) return *layout < layouts.size() ? layouts[*layout] : plain;
    const auto holds_presets = [&](const schema::Layout& one) {
        return one.framing < device->framings.size() && device->framings[one.framing].holds == schema::Holds::presets;
    };
    const auto found = device ? std::ranges::find_if(layouts, holds_presets) : layouts.begin();
    return found == layouts.end() ? plain : *found;
}

/// What the framing explains.
void add_framing(const Framing& framing, std::size_t size, Coverage& coverage) {
    if (framing.stamp) coverage.add({framing.stamp->at, framing.stamp->length});
    for (const schema::BodyBytes& test : framing.empty) coverage.add({test.at, test.bytes.size()});
    if (framing.filled) coverage.add({framing.filled->at, framing.filled->bytes.size()});
    add_checks(framing, size, coverage);
}

/// By name: the texts of the values that nothing takes.
std::vector<std::size_t> unknown_bytes(const Located& located) {
    std::vector<std::size_t> bytes;
    for (const Record& record : located.unknown()) {
        for (std::size_t i = 0; i < record.value.length; ++i) bytes.push_back(record.value.offset + i);
    }
    return bytes;
}

/// Whether bodies of that layout hold the unit's settings, as far as `device` tells.
bool holds_settings(const schema::Release& release, std::size_t layout, const schema::Device* device) {
    if (!device || layout >= release.layouts.size()) return false;
    const std::size_t framing = release.layouts[layout].framing;
    return framing < device->framings.size() && device->framings[framing].holds == schema::Holds::unit_settings;
}

}  // namespace

std::vector<Leaf> decode_tree(const schema::Instances& instances, ByteView body,
                              std::optional<std::size_t> stamp_release, const schema::Device* device,
                              std::optional<std::size_t> layout) {
    const Located located(instances, layout_in(instances, device, layout), body);
    Conditions conditions(instances, located, body, stamp_release, device);
    std::vector<Leaf> leaves;
    leaves.reserve(instances.fields().size());
    for (std::size_t i = 0; i < instances.fields().size(); ++i) {
        const schema::Parameter& parameter = instances.parameter(instances.fields()[i]);
        const schema::Meaning& meaning = conditions.meaning(i);
        Leaf leaf;
        leaf.field = i;
        leaf.stored = conditions.stored(i);
        leaf.value = value_text(instances.release(), parameter, meaning, leaf.stored);
        leaf.exists = conditions.exists(i);
        leaf.at_default =
            meaning.preset_default && is_setting(parameter, meaning, leaf.stored, *meaning.preset_default);
        leaf.beyond_range = is_beyond_range(parameter, meaning, leaf.stored);
        if (leaf.beyond_range) leaf.range = number_text(meaning.range->least) + ".." + number_text(meaning.range->most);
        leaves.push_back(std::move(leaf));
    }
    return leaves;
}

std::string preset_name(const schema::Instances& instances, ByteView body, std::optional<std::size_t> layout,
                        NamedBody* named) {
    std::optional<Located> own;
    const Located& located = located_in(instances, layout_in(instances, nullptr, layout), body, named, own);
    for (const schema::Field& field : instances.fields()) {
        const schema::Parameter& parameter = instances.parameter(field);
        if (parameter.plain.role != schema::Role::name || field.storage.coding != schema::Coding::text) continue;
        const bool one_of_many = field.id.find('[') != std::string::npos;  // the name of a scene, say
        if (one_of_many) continue;
        return to_utf8(read_located(field, field.storage, located, body).text, field.storage.encoding).text;
    }
    return {};
}

std::vector<std::size_t> unexplained_bytes(const schema::Instances& instances, std::size_t layout, ByteView body,
                                           const schema::Device* device, NamedBody* named) {
    Coverage coverage(body.size());
    const schema::Layout& here = layout_in(instances, device, layout);
    std::optional<Located> own;
    const Located& located = located_in(instances, here, body, named, own);
    if (here.notation != schema::Notation::bytes) return unknown_bytes(located);
    const bool settings = holds_settings(instances.release(), layout, device);
    for (const schema::Field& field : instances.fields()) {
        if ((instances.parameter(field).scope == schema::Scope::unit) != settings) continue;
        coverage.add(field.storage, located.span_of(field.anchor));
        for (const schema::Storage& read : field.reads) coverage.add(read, located.span_of(field.anchor));
    }
    for (const ByteSpan head : located.heads()) coverage.add(head);
    for (const ByteSpan rest : located.rests()) coverage.add(rest);
    for (const ByteSpan span : here.volatile_bytes) coverage.add(span);
    const bool known = device && layout < instances.release().layouts.size() && here.framing < device->framings.size();
    if (known) add_framing(device->framings[here.framing], body.size(), coverage);
    return coverage.gaps();
}

std::vector<std::size_t> unexplained_bytes(const schema::Instances& instances, std::size_t layout,
                                           std::size_t body_length, const schema::Device* device) {
    return unexplained_bytes(instances, layout, Bytes(body_length), device);
}

}  // namespace downfit::dump
