// Storage by layout: `in`.
#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/read_named.h"
#include "schema/reader.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 16> parameter_view_keys{
    "path",     "at",      "as",  "order", "bit", "width",   "signed",  "length",
    "encoding", "padding", "tag", "scale", "on",  "nothing", "as-base", "written"};
constexpr std::array<std::string_view, 8> group_view_keys{"path", "by",     "keys", "version",
                                                          "at",   "stride", "tag",  "records"};

PlaceForm notation_form(Notation notation) {
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

bool differs(const RawEntry& entry, const std::string& layout, Notation notation) {
    if (in_of(entry, layout)) return true;
    const PlaceForm form = form_of(*entry.node);
    return form != PlaceForm::none && form != notation_form(notation);
}

std::string_view notation_words(Notation notation) {
    switch (notation) {
        case Notation::json: return "JSON";
        case Notation::xml: return "XML";
        case Notation::bytes: break;
    }
    return "bytes";
}

std::string place_for(Notation notation) {
    switch (notation) {
        case Notation::json: return "\"path\": a JSON Pointer, such as \"/volume\"";
        case Notation::xml: return "\"path\": an XPath from where its group stands, such as \"settings/@volume\"";
        case Notation::bytes: break;
    }
    return "\"at\" or \"tag\"";
}

/// What says where an entry stands; the entry itself without any.
const Node& place_in(const Node& entry) {
    for (const std::string_view key : {"path", "at", "tag"}) {
        if (const Node* node = entry.find(key)) return *node;
    }
    return entry;
}

/// Reports a place in one layout that no dump of that layout could have. An empty object has none, on purpose.
void check_place_in(const Node& place, const ReadLayout& layout, Problems& problems) {
    if (!place.is(Node::Kind::object) || place.members.empty()) return;
    const PlaceForm form = form_of(place);
    if (form == notation_form(layout.notation)) return;
    const Node& where = place_in(place);
    if (place.find("path") && form == PlaceForm::bytes) return;  // two places, told elsewhere
    if (form == PlaceForm::none) {
        if (&where == &place)
            report(problems, place.key_place(), name_of(place) + " does not say where it stands",
                   place_for(layout.notation));
        return;
    }
    report(problems, where.key_place(),
           name_of(where) + " is no place in layout " + quoted(layout.name) + ", whose dumps are " +
               std::string(notation_words(layout.notation)),
           place_for(layout.notation));
}

/// Reports the place of a parameter that no layout of the device could have: mostly a path without its "/".
void check_form(const RawEntry& entry, const std::vector<ReadLayout>& layouts, Problems& problems) {
    const PlaceForm form = form_of(*entry.node);
    const auto fits = [&](const ReadLayout& layout) { return notation_form(layout.notation) == form; };
    if (form == PlaceForm::none || layouts.empty() || entry.node->find("in") || std::ranges::any_of(layouts, fits))
        return;
    const Node& where = place_in(*entry.node);
    const Notation notation = layouts.front().notation;
    report(problems, where.key_place(),
           name_of(where) + " is no place in any layout, whose dumps are " + std::string(notation_words(notation)),
           place_for(notation));
}

/// The entry's node with what `in` says of storage in place of its own.
NodePtr patched(const RawEntry& entry, const NodePtr& in, Names view_keys, const std::string& kind) {
    std::vector<std::string_view> gone(view_keys.begin(), view_keys.end());
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

std::optional<RawRelease> view_of(const RawRelease& raw, const std::string& layout, Notation notation) {
    const auto differs_here = [&](const RawEntry& entry) { return differs(entry, layout, notation); };
    if (std::ranges::none_of(raw.parameters.all(), differs_here) &&
        std::ranges::none_of(raw.groups.all(), differs_here)) {
        return std::nullopt;
    }
    RawRelease view = raw;
    for (const RawEntry& entry : raw.parameters.all()) {
        if (!differs_here(entry)) continue;
        const std::string kind(kind_words[static_cast<std::size_t>(kind_of(raw, entry))]);
        view.parameters.find(entry.id)->node = patched(entry, in_of(entry, layout), parameter_view_keys, kind);
    }
    for (const RawEntry& entry : raw.groups.all()) {
        if (!differs_here(entry)) continue;
        view.groups.find(entry.id)->node = patched(entry, in_of(entry, layout), group_view_keys, {});
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
            const auto layout = std::ranges::find(layouts, member.key, &ReadLayout::name);
            if (layout != layouts.end()) check_place_in(*member.value, *layout, problems);
        }
    };
    for (const RawEntry& entry : raw.parameters.all()) {
        check(entry, parameter_view_keys);
        check_form(entry, layouts, problems);
    }
    for (const RawEntry& entry : raw.groups.all()) check(entry, group_view_keys);
}

}  // namespace downfit::schema
