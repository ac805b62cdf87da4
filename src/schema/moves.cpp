#include "schema/moves.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/inherit.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 10> reference_keys{"on-by", "selected-by", "start-by", "controls",  "heel",
                                                          "toe",   "overrides",   "count-by", "parameter", "by"};
constexpr std::array<std::string_view, 4> lists_inside{"all", "any", "varies", "reads"};
constexpr std::array<std::string_view, 4> objects_inside{"not", "when", "list", "cost"};

template <std::size_t N>
bool holds(const std::array<std::string_view, N>& names, std::string_view key) {
    return std::ranges::find(names, key) != names.end();
}

}  // namespace

NodePtr with_references(const NodePtr& node, const std::function<std::string(const std::string&)>& replace) {
    if (!node->is(Node::Kind::object)) return node;
    auto copy = std::make_shared<Node>(*node);
    for (Member& member : copy->members) {
        const bool is_text = member.value->is(Node::Kind::text);
        if (is_text && holds(reference_keys, member.key)) {
            auto text = std::make_shared<Node>(*member.value);
            text->text = replace(text->text);
            member.value = std::move(text);
        } else if (holds(lists_inside, member.key) && member.value->is(Node::Kind::array)) {
            auto list = std::make_shared<Node>(*member.value);
            for (NodePtr& item : list->items) item = with_references(item, replace);
            member.value = std::move(list);
        } else if (holds(objects_inside, member.key)) {
            member.value = with_references(member.value, replace);
        }
    }
    return copy;
}

namespace {

void unknown_name(const TextPlace& place, std::string_view thing, std::string_view name, const RawEntries& entries,
                  Problems& problems) {
    if (entries.all().empty()) {
        report(problems, place, "no " + std::string(thing) + " is inherited, so " + quoted(name) + " cannot be",
               "\"extends\" and a release that has it");
        return;
    }
    report(problems, place, "the release that this one extends has no " + std::string(thing) + " " + quoted(name),
           "one of its " + std::string(thing) + "s", did_you_mean(name, entries.ids()));
}

}  // namespace

Moves::Moves(const Node& file, const RawEntries& groups, const RawEntries& parameters, Problems& problems) {
    read_section(file, "groups", groups, problems);
    read_section(file, "parameters", parameters, problems);
}

void Moves::read_section(const Node& file, std::string_view section, const RawEntries& entries, Problems& problems) {
    const bool is_groups = section == "groups";
    const std::string_view thing = is_groups ? "group" : "parameter";
    auto& renamed = is_groups ? renamed_groups_ : renamed_parameters_;
    auto& removed = is_groups ? removed_groups_ : removed_parameters_;
    const Node* written = file.find(section);
    if (!written) return;
    if (written->is(Node::Kind::null)) {
        for (const RawEntry& entry : entries.all()) removed.insert(entry.id);
        return;
    }
    std::vector<std::pair<std::string, const Node*>> taken;
    for (const Member& member : written->members) {
        if (member.value->is(Node::Kind::null)) {
            if (!entries.find(member.key))
                unknown_name(member.value->key_place(), thing, member.key, entries, problems);
            removed.insert(member.key);
            continue;
        }
        const Node* from = member.value->find("renamed-from");
        if (!from || from->is(Node::Kind::null)) continue;
        const auto old = read_text(*from, problems);
        if (!old) continue;
        if (!entries.find(*old)) {
            unknown_name(from->value_place(), thing, *old, entries, problems);
        } else if (!renamed.emplace(*old, member.key).second) {
            report(problems, from->value_place(), quoted(*old) + " is renamed twice", "one new name");
        } else if (*old != member.key && entries.find(member.key)) {
            taken.emplace_back(member.key, from);
        }
    }
    for (const auto& [name, from] : taken) {
        if (renamed.contains(name)) continue;
        report(problems, from->key_place(),
               "the release that this one extends has a " + std::string(thing) + " " + quoted(name) + " already",
               "a new name, or that " + std::string(thing) + " renamed too");
    }
}

std::optional<std::string> Moves::group(std::string_view path) const {
    for (std::string_view outer = path; !outer.empty(); outer = group_part(outer)) {
        const std::string_view rest = path.substr(outer.size());
        if (const auto at = renamed_groups_.find(outer); at != renamed_groups_.end()) {
            return at->second + std::string(rest);
        }
        if (removed_groups_.contains(outer)) return std::nullopt;
    }
    return std::string(path);
}

std::optional<std::string> Moves::parameter(std::string_view id) const {
    if (const auto at = renamed_parameters_.find(id); at != renamed_parameters_.end()) return at->second;
    if (removed_parameters_.contains(id)) return std::nullopt;
    const std::string_view path = group_part(id);
    if (path.empty()) return std::string(id);
    const auto moved = group(path);
    if (!moved) return std::nullopt;
    return *moved + "." + std::string(name_part(id));
}

std::string Moves::reference(std::string_view id) const {
    const auto steps = parse_id(id);
    if (!steps) return std::string(id);
    const auto moved = parameter(plain_id(*steps));
    auto new_steps = moved ? parse_id(*moved) : std::nullopt;
    if (!new_steps) return std::string(id);
    std::string text;
    const std::size_t shared = std::min(steps->size(), new_steps->size());
    for (std::size_t i = 0; i < new_steps->size(); ++i) {
        const std::size_t from_end = new_steps->size() - i;
        const int index = from_end <= shared ? (*steps)[steps->size() - from_end].index : 0;
        text += (i == 0 ? "" : ".") + (*new_steps)[i].name;
        if (index > 0) text += "[" + std::to_string(index) + "]";
    }
    return text;
}

NodePtr Moves::follow(const NodePtr& node) const {
    NodePtr moved = with_references(node, [this](const std::string& id) { return reference(id); });
    const Node* like = moved->find("like");
    if (!like || !like->is(Node::Kind::text)) return moved;
    auto copy = std::make_shared<Node>(*moved);
    for (Member& member : copy->members) {
        if (member.key != "like") continue;
        auto text = std::make_shared<Node>(*member.value);
        text->text = group(like->text).value_or(like->text);
        member.value = std::move(text);
    }
    return copy;
}

NodePtr Moves::follow_variants(const NodePtr& variants) const {
    if (!variants || renamed_groups_.empty() || !variants->is(Node::Kind::object)) return variants;
    auto copy = std::make_shared<Node>(*variants);
    for (Member& variant : copy->members) {
        const NodePtr limits = variant.value->share("limits");
        if (!limits || !limits->is(Node::Kind::object)) continue;
        auto new_limits = std::make_shared<Node>(*limits);
        for (Member& limit : new_limits->members) limit.key = group(limit.key).value_or(limit.key);
        auto new_variant = std::make_shared<Node>(*variant.value);
        for (Member& member : new_variant->members) {
            if (member.key == "limits") member.value = new_limits;
        }
        variant.value = std::move(new_variant);
    }
    return copy;
}

}  // namespace downfit::schema
