// Storage by layout: `in`.
#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/read_named.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 16> parameter_keys{"path",   "at",      "as",       "order",   "bit", "width",
                                                          "signed", "length",  "encoding", "padding", "tag", "scale",
                                                          "on",     "nothing", "as-base",  "written"};
constexpr std::array<std::string_view, 8> group_keys{"path", "by", "keys", "version", "at", "stride", "tag", "records"};
constexpr std::array<std::string_view, 7> kinds{"whole", "real", "switch", "choice", "text", "reference", "opaque"};

PlaceForm form_of(Notation notation) {
    switch (notation) {
        case Notation::json: return PlaceForm::json;
        case Notation::xml: return PlaceForm::xml;
        case Notation::bytes: break;
    }
    return PlaceForm::bytes;
}

NodePtr in_of(const RawEntry& entry, const std::string& layout) {
    const Node* in = entry.node->find("in");
    return in && in->is(Node::Kind::object) ? in->share(layout) : nullptr;
}

bool differs(const RawEntry& entry, const ReadLayout& layout) {
    if (in_of(entry, layout.name)) return true;
    const PlaceForm form = schema::form_of(*entry.node);
    return form != PlaceForm::none && form != form_of(layout.notation);
}

/// The entry's node with what `in` says of storage in place of its own.
NodePtr patched(const RawEntry& entry, const NodePtr& in, Names storage_keys, const std::string& kind) {
    std::vector<std::string_view> gone(storage_keys.begin(), storage_keys.end());
    gone.emplace_back("in");
    if (!kind.empty()) gone.emplace_back("reads");
    auto node = std::make_shared<Node>(*without(entry.node, gone));
    const auto add = [&](std::string_view key, NodePtr value) {
        node->members.push_back({std::string(key), std::move(value)});
    };
    if (in && in->is(Node::Kind::object)) {
        for (const Member& member : in->members) add(member.key, member.value);
    }
    // It keeps its kind however it is stored, and is known to have no place where `in` gives none.
    if (!kind.empty() && !node->find("kind")) {
        auto word = std::make_shared<Node>();
        word->kind = Node::Kind::text;
        word->text = kind;
        word->file = node->file;
        add("kind", std::move(word));
    }
    auto none = std::make_shared<Node>();
    none->kind = Node::Kind::object;
    none->file = node->file;
    add("in", std::move(none));
    return node;
}

}  // namespace

std::optional<RawRelease> view_of(const RawRelease& raw, const ReadLayout& layout) {
    const auto differs_here = [&](const RawEntry& entry) { return differs(entry, layout); };
    if (std::ranges::none_of(raw.parameters.all(), differs_here) &&
        std::ranges::none_of(raw.groups.all(), differs_here)) {
        return std::nullopt;
    }
    RawRelease view = raw;
    for (const RawEntry& entry : raw.parameters.all()) {
        if (!differs_here(entry)) continue;
        const std::string kind(kinds[static_cast<std::size_t>(kind_of(raw, entry))]);
        view.parameters.find(entry.id)->node = patched(entry, in_of(entry, layout.name), parameter_keys, kind);
    }
    for (const RawEntry& entry : raw.groups.all()) {
        if (!differs_here(entry)) continue;
        view.groups.find(entry.id)->node = patched(entry, in_of(entry, layout.name), group_keys, {});
    }
    return view;
}

void check_views(const RawRelease& raw, const std::vector<ReadLayout>& layouts, Problems& problems) {
    std::vector<std::string_view> names;
    for (const ReadLayout& layout : layouts) names.push_back(layout.name);
    const auto check = [&](const RawEntry& entry, Names keys) {
        const Node* in = entry.node->find("in");
        if (!in) return;
        if (!in->is(Node::Kind::object)) return report_found(problems, *in, "an object: layouts with a place in each");
        for (const Member& member : in->members) {
            if (std::ranges::find(names, std::string_view(member.key)) == names.end()) {
                report(problems, member.value->key_place(), "there is no layout " + quoted(member.key), one_of(names),
                       did_you_mean(member.key, names));
            }
            (void)ObjectReader(*member.value, "a place in a layout", keys, problems);
        }
    };
    for (const RawEntry& entry : raw.parameters.all()) check(entry, parameter_keys);
    for (const RawEntry& entry : raw.groups.all()) check(entry, group_keys);
}

}  // namespace downfit::schema
