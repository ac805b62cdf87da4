#include "schema/node.h"

#include <algorithm>
#include <unordered_map>
#include <utility>

namespace downfit::schema {

namespace {

/// The place of one node, without content.
std::shared_ptr<Node> hollow_copy(const Node& from) {
    auto node = std::make_shared<Node>();
    node->kind = from.kind;
    node->file = from.file;
    node->pointer = from.pointer;
    node->item = from.item;
    node->key_spot = from.key_spot;
    node->value_spot = from.value_spot;
    return node;
}

}  // namespace

const Node* Node::find(std::string_view key) const {
    const auto found = std::ranges::find(members, key, &Member::key);
    return found == members.end() ? nullptr : found->value.get();
}

NodePtr Node::share(std::string_view key) const {
    const auto found = std::ranges::find(members, key, &Member::key);
    return found == members.end() ? nullptr : found->value;
}

TextPlace Node::key_place() const {
    return {file ? *file : std::string{}, key_spot.line, key_spot.column, pointer};
}

TextPlace Node::value_place() const {
    return {file ? *file : std::string{}, value_spot.line, value_spot.column, pointer};
}

NodePtr merge_patch(const NodePtr& base, const NodePtr& patch) {
    if (!patch || patch->is(Node::Kind::null)) return nullptr;
    if (!patch->is(Node::Kind::object)) return patch;
    auto merged = hollow_copy(*patch);
    std::unordered_map<std::string_view, std::size_t> index;
    if (base && base->is(Node::Kind::object)) merged->members = base->members;
    for (std::size_t i = 0; i < merged->members.size(); ++i) index.emplace(merged->members[i].key, i);

    std::vector<Member> added;
    for (const Member& member : patch->members) {
        const auto known = index.find(member.key);
        const NodePtr before = known == index.end() ? nullptr : merged->members[known->second].value;
        NodePtr value = merge_patch(before, member.value);
        if (known != index.end()) {
            merged->members[known->second].value = std::move(value);
        } else if (value) {
            added.push_back({member.key, std::move(value)});
        }
    }
    std::erase_if(merged->members, [](const Member& member) { return !member.value; });
    std::ranges::move(added, std::back_inserter(merged->members));
    return merged;
}

NodePtr without(const NodePtr& node, const std::vector<std::string_view>& keys) {
    if (!node || !node->is(Node::Kind::object)) return node;
    const auto unwanted = [&](const Member& member) { return std::ranges::find(keys, member.key) != keys.end(); };
    if (std::ranges::none_of(node->members, unwanted)) return node;
    auto rest = hollow_copy(*node);
    std::ranges::remove_copy_if(node->members, std::back_inserter(rest->members), unwanted);
    return rest;
}

}  // namespace downfit::schema
