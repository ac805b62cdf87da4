#include "schema/label_moves.h"

#include <utility>

#include "schema/ids.h"
#include "schema/inherit.h"
#include "schema/moves.h"

namespace downfit::schema {

namespace {

/// The member of a member of a section: `file[section][name][last]`, or null.
const Node* reach(const Node& file, std::string_view section, std::string_view name, std::string_view last) {
    const Node* at = file.find(section);
    at = at ? at->find(name) : nullptr;
    return at ? at->find(last) : nullptr;
}

bool is_setting(std::string_view key) {
    return key == "default" || key == "neutral";
}

bool holds_conditions(std::string_view key) {
    return key == "when" || key == "not" || key == "all" || key == "any" || key == "varies" || key == "reads";
}

}  // namespace

LabelMoves::LabelMoves(const RawRelease& base, const Node& file, const Moves& moves) {
    const auto add = [](const Node* rename, Labels& labels) {
        if (!rename) return;
        for (const Member& member : rename->members) {
            if (member.value->is(Node::Kind::text)) labels.emplace(member.key, member.value->text);
        }
    };
    for (const auto& [old_id, choices] : base.choices) {
        const auto id = moves.parameter(old_id);
        if (!id) continue;
        Labels labels;
        if (choices.shared()) add(reach(file, "choice-lists", choices.list, "rename"), labels);
        const Node* own = reach(file, "parameters", *id, "choices");
        if (own) add(own->find("rename"), labels);
        if (!labels.empty()) renamed_.emplace(*id, std::move(labels));
    }
}

const LabelMoves::Labels* LabelMoves::labels_of(std::string_view reference) const {
    const auto steps = parse_id(reference);
    const auto at = steps ? renamed_.find(plain_id(*steps)) : renamed_.end();
    return at == renamed_.end() ? nullptr : &at->second;
}

NodePtr LabelMoves::renamed(const NodePtr& setting, const Labels& labels) {
    if (setting->is(Node::Kind::array)) {
        auto list = std::make_shared<Node>(*setting);
        for (NodePtr& item : list->items) item = renamed(item, labels);
        return list;
    }
    const auto at = setting->is(Node::Kind::text) ? labels.find(setting->text) : labels.end();
    if (at == labels.end()) return setting;
    auto text = std::make_shared<Node>(*setting);
    text->text = at->second;
    return text;
}

NodePtr LabelMoves::follow_cost(const NodePtr& cost) const {
    const Node* by = cost->find("by");
    const NodePtr costs = cost->share("costs");
    const Labels* labels = by && by->is(Node::Kind::text) ? labels_of(by->text) : nullptr;
    if (!labels || !costs) return cost;
    auto new_costs = std::make_shared<Node>(*costs);
    for (Member& member : new_costs->members) {
        const auto at = labels->find(member.key);
        if (at != labels->end()) member.key = at->second;
    }
    auto copy = std::make_shared<Node>(*cost);
    for (Member& member : copy->members) {
        if (member.key == "costs") member.value = new_costs;
    }
    return copy;
}

NodePtr LabelMoves::follow(const NodePtr& node, std::string_view id) const {
    const auto own = renamed_.find(id);
    return follow_members(node, own == renamed_.end() ? nullptr : &own->second);
}

NodePtr LabelMoves::follow_members(const NodePtr& node, const Labels* own) const {
    if (node->is(Node::Kind::array)) {
        auto list = std::make_shared<Node>(*node);
        for (NodePtr& item : list->items) item = follow_members(item, own);
        return list;
    }
    if (!node->is(Node::Kind::object)) return node;
    const Node* about = node->find("parameter");
    const Labels* asked = about && about->is(Node::Kind::text) ? labels_of(about->text) : nullptr;
    auto copy = std::make_shared<Node>(*node);
    for (Member& member : copy->members) {
        if (member.key == "is" && asked)
            member.value = renamed(member.value, *asked);
        else if (is_setting(member.key) && own)
            member.value = renamed(member.value, *own);
        else if (member.key == "cost")
            member.value = follow_cost(member.value);
        else if (holds_conditions(member.key))
            member.value = follow_members(member.value, own);
    }
    return copy;
}

}  // namespace downfit::schema
