#include <array>
#include <charconv>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/read_release.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 2> slot_keys{"first", "count"};
constexpr std::array<std::string_view, 4> asset_keys{"title", "first", "count", "contents"};
constexpr std::array<std::string_view, 5> variant_keys{"title", "oldest-release", "limits", "budget", "facts"};
constexpr std::array<std::string_view, 1> from_key{"from"};
constexpr std::array<std::string_view, 4> taken_kinds{"parameter", "scene", "block", "preset"};

/// The members of an object whose keys are free.
const std::vector<Member>& members_of(const Node& node, std::string_view thing, Problems& problems) {
    if (!node.is(Node::Kind::object)) report_found(problems, node, "an object: " + std::string(thing));
    return node.members;
}

void check_name(const Member& member, Problems& problems) {
    if (is_name(member.key)) return;
    report(problems, member.value->key_place(), quoted(member.key) + " is not a name",
           "lower-case letters, digits and \"-\"");
}

std::map<int, std::string> read_contents(const Node& node, const AssetKind& kind, Problems& problems) {
    std::map<int, std::string> contents;
    for (const Member& member : members_of(node, "slots with what stands in them", problems)) {
        int slot = 0;
        const char* end = member.key.data() + member.key.size();
        const auto [stop, error] = std::from_chars(member.key.data(), end, slot);
        const bool fits = error == std::errc{} && stop == end && slot >= kind.first && slot - kind.first < kind.count;
        const auto text = read_text(*member.value, problems);
        if (!fits) {
            report(
                problems, member.value->key_place(), quoted(member.key) + " is not a slot",
                "a number from " + std::to_string(kind.first) + " to " + std::to_string(kind.first + kind.count - 1));
        } else if (text) {
            contents.emplace(slot, *text);
        }
    }
    return contents;
}

}  // namespace

std::optional<double> read_budget(const Node& node, Problems& problems) {
    const auto number = read_number(node, problems);
    if (!number || *number >= 0) return number;
    report_found(problems, node, "a number from 0 up");
    return std::nullopt;
}

ReadStamps read_stamps(const Node& node, Problems& problems) {
    ReadStamps read_here;
    std::vector<Stamp>& stamps = read_here.stamps;
    const auto read = [&](const Node& stamp) {
        if (stamp.is(Node::Kind::text))
            stamps.emplace_back(stamp.text);
        else if (stamp.whole && *stamp.whole >= 0)
            stamps.emplace_back(*stamp.whole);
        else
            report_found(problems, stamp, "a whole number from 0 up, or a text");
    };
    if (node.is(Node::Kind::object)) {
        const ObjectReader reader(node, "an open range of stamps", from_key, problems);
        const Node* from = reader.need("from");
        if (from) read_here.from = read_whole(*from, {0, INT64_MAX}, problems);
        if (read_here.from) stamps.emplace_back(*read_here.from);
        return read_here;
    }
    if (!node.is(Node::Kind::array)) {
        read(node);
        return read_here;
    }
    if (node.items.empty()) report(problems, node.value_place(), "a list without stamps", "one stamp or more");
    for (const NodePtr& item : node.items) read(*item);
    return read_here;
}

Slots read_slots(const Node* node, Problems& problems) {
    Slots slots;
    if (!node) return slots;
    const ObjectReader reader(*node, "slots", slot_keys, problems);
    slots.first = static_cast<int>(reader.whole("first", slot_numbers).value_or(slots.first));
    slots.count = static_cast<int>(reader.whole("count", {1, 1'000'000}).value_or(slots.count));
    return slots;
}

std::vector<AssetKind> read_assets(const Node* node, Problems& problems) {
    std::vector<AssetKind> kinds;
    if (!node) return kinds;
    for (const Member& member : members_of(*node, "kinds of assets", problems)) {
        AssetKind kind{member.key, member.key, 1, 0, {}};
        check_name(member, problems);
        for (const std::string_view taken : taken_kinds) {
            if (member.key != taken) continue;
            report(problems, member.value->key_place(), quoted(member.key) + " is no name for an asset kind",
                   "another name: references use this one already");
        }
        const ObjectReader reader(*member.value, "an asset kind", asset_keys, problems);
        kind.title = reader.text("title", member.key);
        kind.first = static_cast<int>(reader.whole("first", slot_numbers).value_or(1));
        if (reader.need("count")) kind.count = static_cast<int>(reader.whole("count", {1, 1'000'000}).value_or(1));
        if (const Node* contents = reader.find("contents")) kind.contents = read_contents(*contents, kind, problems);
        kinds.push_back(std::move(kind));
    }
    return kinds;
}

std::vector<Variant> read_variants(const Node* node, const std::vector<std::string>& releases, Problems& problems) {
    std::vector<Variant> variants;
    if (!node) return variants;
    for (const Member& member : members_of(*node, "variants by name", problems)) {
        Variant variant;
        variant.name = member.key;
        check_name(member, problems);
        const ObjectReader reader(*member.value, "a variant", variant_keys, problems);
        variant.title = reader.text("title", member.key);
        if (const Node* oldest = reader.find("oldest-release")) {
            const auto index = read_release_name(*oldest, releases, problems);
            if (index) variant.oldest_release = releases[*index];
        }
        if (const Node* limits = reader.find("limits")) {
            for (const Member& limit : members_of(*limits, "groups with numbers", problems)) {
                const auto most = read_whole(*limit.value, {0, 100'000}, problems);
                if (most) variant.limits.emplace(limit.key, static_cast<int>(*most));
            }
        }
        if (const Node* budget = reader.find("budget")) variant.budget = read_budget(*budget, problems);
        if (const Node* facts = reader.find("facts")) {
            for (const Member& fact : members_of(*facts, "facts with their values", problems)) {
                const auto value = read_text(*fact.value, problems);
                if (value) variant.facts.emplace(fact.key, *value);
            }
        }
        variants.push_back(std::move(variant));
    }
    return variants;
}

void check_limits(const std::vector<const RawRelease*>& releases, Problems& problems) {
    std::vector<std::string_view> paths;
    const auto is_known = [&](std::string_view path) {
        for (const RawRelease* release : releases) {
            if (release->groups.find(path)) return true;
        }
        return false;
    };
    for (const RawRelease* release : releases) {
        for (const std::string_view path : release->groups.ids()) paths.push_back(path);
    }
    for (const RawRelease* release : releases) {
        if (!release->variants) continue;
        for (const Member& variant : release->variants->members) {
            const Node* limits = variant.value->find("limits");
            if (!limits) continue;
            for (const Member& limit : limits->members) {
                if (is_known(limit.key)) continue;
                report(problems, limit.value->key_place(), "no release has a group " + quoted(limit.key),
                       "the path of a group", did_you_mean(limit.key, paths));
            }
        }
    }
}

}  // namespace downfit::schema
