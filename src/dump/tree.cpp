#include "dump/tree.h"

#include <algorithm>

#include "base/text.h"
#include "dump/claims.h"
#include "dump/conditions.h"
#include "dump/locate.h"
#include "dump/value_text.h"

namespace downfit::dump {

namespace {

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

/// By name: the texts of the values that nothing takes.
std::vector<std::size_t> unknown_bytes(const Located& located) {
    std::vector<std::size_t> bytes;
    for (const Record& record : located.unknown()) {
        for (std::size_t i = 0; i < record.value.length; ++i) bytes.push_back(record.value.offset + i);
    }
    return bytes;
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
    const schema::Layout& here = layout_in(instances, device, layout);
    if (here.notation != schema::Notation::bytes) {
        std::optional<Located> own;
        return unknown_bytes(located_in(instances, here, body, named, own));
    }
    const bool known = device && layout < instances.release().layouts.size() && here.framing < device->framings.size();
    const std::vector<ClaimedByte> claims =
        claim_bytes(&instances, here, known ? &device->framings[here.framing] : nullptr, body);
    std::vector<std::size_t> gaps;
    for (std::size_t i = 0; i < claims.size(); ++i) {
        if (claims[i].by == Claim::nobody) gaps.push_back(i);
    }
    return gaps;
}

std::vector<std::size_t> unexplained_bytes(const schema::Instances& instances, std::size_t layout,
                                           std::size_t body_length, const schema::Device* device) {
    return unexplained_bytes(instances, layout, Bytes(body_length), device);
}

}  // namespace downfit::dump
