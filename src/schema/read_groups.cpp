#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/marks.h"
#include "schema/read_layout.h"
#include "schema/read_named.h"
#include "schema/read_parameter.h"
#include "schema/read_release.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 27> group_keys{
    "kind",     "at",       "count", "stride", "title", "role",         "on-by", "selected-by", "start-by",
    "controls", "heel",     "toe",   "when",   "like",  "renamed-from", "tag",   "records",     "version-at-most",
    "rules",    "count-by", "cost",  "path",   "by",    "keys",         "in",    "version",     "true-to-device"};
constexpr std::array<std::string_view, 3> cost_keys{"by", "costs", "else"};
constexpr std::array<std::string_view, 1> group_rule_keys{"refuses"};
constexpr Limits instance_counts{1, 100'000};

static_assert(static_cast<std::size_t>(GroupKind::control_switch) + 1 == group_kind_words.size());

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
        group.kind = static_cast<GroupKind>(reader.word("kind", group_kind_words).value_or(0));
        group.tag = reader.whole("tag", tag_numbers);
        read_place(reader, group);
        read_record_keys(reader, group);
        if (const Node* by = reader.find("count-by")) read_count_by(*by, group);
        if (const Node* marks = reader.find("true-to-device")) check_marks(*marks, problems_);
        if (const Node* cost = reader.find("cost")) read_cost(*cost, group);
        group.title = reader.text("title");
        if (const auto role = reader.word("role", group_role_words)) group.role = group_role_words[*role];
        for (const GroupReference& reference : references) read_reference_key(reader, reference, group);
        if (const Node* when = reader.find("when")) group.when = read_condition(*when, context_);
        return group;
    }

private:
    void misplaced(const ObjectReader& reader, std::string_view key, std::string expected) {
        const Node* node = reader.find(key);
        if (node) report(problems_, node->key_place(), quoted(key) + " means nothing here", std::move(expected));
    }

    void read_place(const ObjectReader& reader, Group& group) {
        if (reader.has("path")) {
            group.count = static_cast<int>(reader.whole("count", instance_counts).value_or(1));
            group.named = read_named_place(reader, group.count);
            return;
        }
        for (const std::string_view key : {"by", "keys", "version"})
            misplaced(reader, key, quoted(key) + " only with \"path\"");
        const bool needed = !reader.has("tag") && !reader.has("in") && !only_records(group.path);
        if (!needed || reader.need("at")) group.at = reader.whole("at", any_place).value_or(0);
        group.count = static_cast<int>(reader.whole("count", instance_counts).value_or(1));
        if (reader.has("tag")) return misplaced(reader, "stride", "\"stride\" only in groups without \"tag\"");
        group.stride = reader.whole("stride", any_place).value_or(0);
        if (needed && group.count > 1 && reader.need("stride") && reader.find("stride")->whole == std::int64_t{0}) {
            report_found(problems_, *reader.find("stride"), "the bytes from one instance to the next");
        }
    }

    /// Whether all that stands right in the group has a record of its own, so that the group needs no place.
    bool only_records(std::string_view path) const {
        std::size_t inside = 0;
        const auto tagged = [&](const RawEntry& entry) {
            if (group_part(entry.id) != path) return true;
            ++inside;
            const Node& inner = *entry.node;
            return inner.find("tag") != nullptr || inner.find("path") != nullptr || inner.find("in") != nullptr;
        };
        return std::ranges::all_of(context_.release.parameters.all(), tagged) &&
               std::ranges::all_of(context_.release.groups.all(), tagged) && inside > 0;
    }

    void read_record_keys(const ObjectReader& reader, Group& group) {
        const bool placed = reader.has("tag") || reader.has("path") || reader.has("in");
        for (const std::string_view key : {"records", "version-at-most"}) {
            if (!placed) misplaced(reader, key, quoted(key) + " only in groups with \"tag\"");
        }
        if (const Node* records = reader.find("records")) group.records = read_records(*records, problems_);
        group.version_at_most = reader.whole("version-at-most", tag_numbers);
        if (!reader.has("version-at-most")) {
            misplaced(reader, "rules", "\"rules\" of a group only with \"version-at-most\"");
        } else if (reader.has("tag") && !has_versions(context_.release)) {
            report(problems_, reader.find("version-at-most")->key_place(), "no record has a version",
                   "\"version\" in the \"head\" of records");
        }
        const Node* rules = reader.find("rules");
        if (!rules) return;
        const ObjectReader of_group(*rules, "loading rules of a group", group_rule_keys, problems_);
        group.version_refuses = read_refuses(of_group).value_or(Refuses::block);
    }

    void read_count_by(const Node& node, Group& group) {
        group.count_by_length = node.is(Node::Kind::text) && node.text == "length";
        if (!group.count_by_length && read_number_reference(node, context_)) group.count_by = node.text;
    }

    void read_cost(const Node& node, Group& group) {
        if (group.kind != GroupKind::block) {
            report(problems_, node.key_place(), "\"cost\" means nothing here",
                   "\"cost\" only in groups of kind \"block\"");
            return;
        }
        group.cost.emplace();
        if (node.is(Node::Kind::number)) {
            group.cost->plain = read_budget(node, problems_).value_or(0);
            return;
        }
        if (!node.is(Node::Kind::object)) {
            report_found(problems_, node, "a number, or an object with \"by\" and \"costs\"");
            return;
        }
        const ObjectReader reader(node, "a cost", cost_keys, problems_);
        const Node* by = reader.need("by");
        const Node* costs = reader.need("costs");
        if (const Node* other = reader.find("else")) group.cost->plain = read_budget(*other, problems_).value_or(0);
        const RawEntry* named = by ? read_reference(*by, context_) : nullptr;
        if (!named || !costs) return;
        group.cost->by = by->text;
        const WrittenChoices* choices = context_.release.choices_of(named->id);
        if (choices) return read_costs(*costs, named->id, *choices, *group.cost);
        if (context_.release.choices.contains(named->id)) return;  // its list is missing, told elsewhere
        report(problems_, by->value_place(), quoted(by->text) + " has no choices", "a parameter with \"choices\"");
    }

    void read_costs(const Node& node, const std::string& id, const WrittenChoices& choices, Cost& cost) {
        if (!node.is(Node::Kind::object)) report_found(problems_, node, "an object: labels with numbers");
        std::vector<std::string_view> labels;
        for (const WrittenChoice& entry : choices.entries) labels.push_back(entry.choice.label);
        for (const Member& member : node.members) {
            const auto number = read_budget(*member.value, problems_);
            if (number) cost.costs.emplace(member.key, *number);
            if (choices.doubtful || std::ranges::find(labels, std::string_view(member.key)) != labels.end()) continue;
            report(problems_, member.value->key_place(), quoted(id) + " has no choice " + quoted(member.key),
                   "one of its labels", did_you_mean(member.key, labels));
        }
    }

    void read_reference_key(const ObjectReader& reader, const GroupReference& reference, Group& group) {
        const Node* node = reader.find(reference.key);
        if (!node) return;
        if (group.kind != reference.kind && group.kind != reference.other_kind) {
            const std::string_view wanted = group_kind_words[static_cast<std::size_t>(reference.kind)];
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
    if (context.release.in_doubt(entry.id)) return false;
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
        const std::size_t told = context.problems.size();
        Group group = GroupReader(context).read(*entry->second);
        if (entry->second->copied) forget_repeated(context.problems, told);
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
