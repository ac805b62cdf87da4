#include "dump/tree.h"

#include <algorithm>
#include <variant>

#include "dump/conditions.h"
#include "dump/steps.h"
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

    void add(const schema::Storage& storage) {
        if (storage.coding == schema::Coding::text) add(storage.text_at, storage.text_length);
        for (const schema::BitPiece& piece : storage.pieces) add(piece.byte, 1);
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

/// Checks that stand in the body: those after which nothing is unpacked any more.
void add_checks(const Framing& framing, std::size_t size, Coverage& coverage) {
    for (auto step = framing.steps.rbegin(); step != framing.steps.rend(); ++step) {
        const auto* check = std::get_if<schema::CheckStep>(&*step);
        if (!check) return;
        const auto at = place_in(check->at, size, false);
        if (at) coverage.add(static_cast<std::int64_t>(*at), (midi::width(check->check) + 7) / 8);
    }
}

/// Whether bodies of that layout hold the unit's settings, as far as `device` tells.
bool holds_settings(const schema::Release& release, std::size_t layout, const schema::Device* device) {
    if (!device || layout >= release.layouts.size()) return false;
    const std::size_t framing = release.layouts[layout].framing;
    return framing < device->framings.size() && device->framings[framing].holds == schema::Holds::unit_settings;
}

}  // namespace

std::vector<Leaf> decode_tree(const schema::Instances& instances, ByteView body,
                              std::optional<std::size_t> stamp_release, const schema::Device* device) {
    Conditions conditions(instances, body, stamp_release, device);
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
        leaves.push_back(std::move(leaf));
    }
    return leaves;
}

std::string preset_name(const schema::Instances& instances, ByteView body) {
    for (const schema::Field& field : instances.fields()) {
        const schema::Parameter& parameter = instances.parameter(field);
        if (parameter.plain.role != schema::Role::name || field.storage.coding != schema::Coding::text) continue;
        const bool one_of_many = field.id.find('[') != std::string::npos;  // the name of a scene, say
        if (one_of_many) continue;
        return to_utf8(read_field(field.storage, body).text, field.storage.encoding).text;
    }
    return {};
}

std::vector<std::size_t> unexplained_bytes(const schema::Instances& instances, std::size_t layout,
                                           std::size_t body_length, const schema::Device* device) {
    Coverage coverage(body_length);
    const bool settings = holds_settings(instances.release(), layout, device);
    for (const schema::Field& field : instances.fields()) {
        if ((instances.parameter(field).scope == schema::Scope::unit) == settings) coverage.add(field.storage);
    }
    const std::vector<schema::Layout>& layouts = instances.release().layouts;
    if (layout >= layouts.size()) return coverage.gaps();
    for (const ByteSpan& span : layouts[layout].volatile_bytes) {
        coverage.add(static_cast<std::int64_t>(span.offset), span.length);
    }
    if (!device || layouts[layout].framing >= device->framings.size()) return coverage.gaps();
    const Framing& framing = device->framings[layouts[layout].framing];
    if (framing.stamp) coverage.add(static_cast<std::int64_t>(framing.stamp->at), framing.stamp->length);
    if (framing.empty) coverage.add(static_cast<std::int64_t>(framing.empty->at), framing.empty->bytes.size());
    add_checks(framing, body_length, coverage);
    return coverage.gaps();
}

}  // namespace downfit::dump
