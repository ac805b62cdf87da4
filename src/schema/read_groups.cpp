#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/read_parameter.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 14> group_keys{"kind", "at",    "count",       "stride",      "title",
                                                      "role", "on-by", "selected-by", "start-by",    "controls",
                                                      "heel", "toe",   "when",        "renamed-from"};
constexpr std::array<std::string_view, 6> kinds{"plain", "block", "alternate", "scene", "controller", "switch"};
constexpr std::array<std::string_view, 2> group_roles{"cabinet", "limiter"};
constexpr Limits counts{1, 100'000};

static_assert(static_cast<std::size_t>(GroupKind::control_switch) + 1 == kinds.size());

/// A reference of a group, the kinds of group that have it, and what it must name.
struct GroupReference {
    std::string_view key;
    std::string Group::*id;
    GroupKind kind;
    GroupKind other_kind;
};

constexpr std::array<GroupReference, 6> references{{
    {"on-by", &Group::on_by, GroupKind::block, GroupKind::block},
    {"selected-by", &Group::selected_by, GroupKind::alternate, GroupKind::alternate},
    {"start-by", &Group::start_by, GroupKind::scene, GroupKind::scene},
    {"controls", &Group::controls, GroupKind::controller, GroupKind::control_switch},
    {"heel", &Group::heel, GroupKind::controller, GroupKind::controller},
    {"toe", &Group::toe, GroupKind::controller, GroupKind::controller},
}};

class GroupReader {
public:
    explicit GroupReader(const Context& context) : context_(context), problems_(context.problems) {}

    Group read(const RawEntry& entry) {
        Group group;
        group.path = entry.id;
        group.meaning = entry.meaning;
        group.place = entry.node->key_place();
        const ObjectReader reader(*entry.node, "a group", group_keys, problems_);
        if (!reader.ok()) return group;
        group.kind = static_cast<GroupKind>(reader.word("kind", kinds).value_or(0));
        if (reader.need("at")) group.at = reader.whole("at", any_place).value_or(0);
        group.count = static_cast<int>(reader.whole("count", counts).value_or(1));
        group.stride = reader.whole("stride", any_place).value_or(0);
        if (group.count > 1 && reader.need("stride") && reader.find("stride")->whole == std::int64_t{0}) {
            report_found(problems_, *reader.find("stride"), "the bytes from one instance to the next");
        }
        group.title = reader.text("title");
        if (const auto role = reader.word("role", group_roles)) group.role = group_roles[*role];
        for (const GroupReference& reference : references) read_reference_key(reader, reference, group);
        if (const Node* when = reader.find("when")) group.when = read_condition(*when, context_);
        return group;
    }

private:
    void read_reference_key(const ObjectReader& reader, const GroupReference& reference, Group& group) {
        const Node* node = reader.find(reference.key);
        if (!node) return;
        if (group.kind != reference.kind && group.kind != reference.other_kind) {
            const std::string_view wanted = kinds[static_cast<std::size_t>(reference.kind)];
            report(problems_, node->key_place(), quoted(reference.key) + " means nothing here",
                   quoted(reference.key) + " only in groups of kind " + quoted(wanted) +
                       (reference.kind == reference.other_kind ? "" : " or \"switch\""));
            return;
        }
        const RawEntry* named = read_reference(*node, context_);
        if (!named) return;
        group.*reference.id = node->text;
        const Kind kind = kind_of(context_.release, *named);
        if (reference.key == "on-by" && kind != Kind::on_off) {
            report(problems_, node->value_place(), quoted(node->text) + " is not a switch",
                   "a parameter of kind \"switch\"");
        }
        const Node* refers = named->node->find("refers-to");
        if (reference.key == "controls" && !(refers && refers->is(Node::Kind::text) && refers->text == "parameter")) {
            report(problems_, node->value_place(), quoted(node->text) + " is not a reference to a parameter",
                   "a parameter with \"refers-to\": \"parameter\"");
        }
    }

    const Context& context_;
    Problems& problems_;
};

bool check_path(const RawEntry& entry, const Context& context) {
    const auto steps = parse_id(entry.id);
    if (!steps || plain_id(*steps) != entry.id) {
        report(context.problems, entry.node->key_place(), quoted(entry.id) + " is not a group path",
               "names of lower-case letters, digits and \"-\", joined by points");
        return false;
    }
    const std::string_view outer = group_part(entry.id);
    if (outer.empty() || context.release.groups.find(outer)) return true;
    report(context.problems, entry.node->key_place(),
           "there is no group " + quoted(outer) + " around " + quoted(entry.id),
           "a group whose enclosing group is described", did_you_mean(outer, context.release.groups.ids()));
    return false;
}

}  // namespace

std::vector<Group> read_groups(const Context& context) {
    std::unordered_map<std::string_view, const RawEntry*> sound;
    for (const RawEntry& entry : context.release.groups.all()) {
        if (check_path(entry, context)) sound.emplace(entry.id, &entry);
    }
    std::vector<Group> groups;
    std::unordered_map<std::string_view, int> index;
    const auto add = [&](std::string_view path) {
        const auto entry = sound.find(path);
        if (entry == sound.end() || index.contains(path)) return;
        Group group = GroupReader(context).read(*entry->second);
        const auto outer = index.find(group_part(path));
        if (outer != index.end()) group.parent = outer->second;
        index.emplace(entry->first, static_cast<int>(groups.size()));
        groups.push_back(std::move(group));
    };
    for (const RawEntry& entry : context.release.groups.all()) {
        const std::string_view path = entry.id;
        for (std::size_t point = path.find('.'); point != std::string_view::npos; point = path.find('.', point + 1)) {
            add(path.substr(0, point));
        }
        add(path);
    }
    return groups;
}

}  // namespace downfit::schema
