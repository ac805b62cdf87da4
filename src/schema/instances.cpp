#include "schema/instances.h"

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

#include "schema/ids.h"

namespace downfit::schema {

namespace {

std::string joined_indices(const std::vector<int>& indices) {
    std::string text;
    for (const int index : indices) {
        text += text.empty() ? '#' : '.';
        text += std::to_string(index);
    }
    return text;
}

std::string full_id(const std::vector<IdStep>& steps) {
    std::string id;
    for (const IdStep& step : steps) {
        if (!id.empty()) id += '.';
        id += step.name;
        if (step.index > 0) id += "[" + std::to_string(step.index) + "]";
    }
    return id;
}

Storage moved(Storage storage, std::int64_t base) {
    storage.text_at += storage.coding == Coding::text ? base : 0;
    for (BitPiece& piece : storage.pieces) piece.byte += base;
    return storage;
}

/// Anchors as they are found, and how many records of each kind are taken so far.
class AnchorList {
public:
    /// The record of a group instance: the next with that id in the same run.
    int of_group(int around, std::int64_t tag, int group, std::size_t instance) {
        anchors_.push_back({around, tag, ++groups_[{around, group}], static_cast<int>(instance), {}});
        return static_cast<int>(anchors_.size()) - 1;
    }

    /// The record of a parameter: the next with that id that it takes in the same run, shared with other parameters.
    int of_parameter(int around, std::int64_t tag, std::size_t parameter) {
        const int nth = ++parameters_[{around, parameter}];
        const auto [at, fresh] = shared_.emplace(std::tuple(around, tag, nth), static_cast<int>(anchors_.size()));
        if (fresh) anchors_.push_back({around, tag, nth, -1, {}});
        return at->second;
    }

    /// A value of its own, found by name.
    int by_name(int around, NamedPick pick, int nth, int group) {
        anchors_.push_back({around, -1, nth, group, std::move(pick)});
        return static_cast<int>(anchors_.size()) - 1;
    }

    std::vector<Anchor> take() { return std::move(anchors_); }

private:
    std::vector<Anchor> anchors_;
    std::map<std::pair<int, int>, int> groups_;
    std::map<std::pair<int, std::size_t>, int> parameters_;
    std::map<std::tuple<int, std::int64_t, int>, int> shared_;
};

/// The anchor whose value is the nearest run of records around a group instance, itself included; -1 for the body.
int run_around(const Release& release, const std::vector<GroupInstance>& instances, int group) {
    for (int at = group; at >= 0; at = instances[static_cast<std::size_t>(at)].parent) {
        const GroupInstance& instance = instances[static_cast<std::size_t>(at)];
        if (release.groups[static_cast<std::size_t>(instance.group)].records) return instance.anchor;
    }
    return -1;
}

/// The group instances of a release, parents before children, each parent's children together; and their anchors.
class GroupBuilder {
public:
    GroupBuilder(const Release& release, AnchorList& anchors)
        : release_(release), anchors_(anchors), children_(release.groups.size() + 1) {
        for (std::size_t g = 0; g < release.groups.size(); ++g) {
            children_[static_cast<std::size_t>(release.groups[g].parent + 1)].push_back(g);
        }
    }

    std::vector<GroupInstance> build() {
        add_children(-1, -1);
        return std::move(instances_);
    }

private:
    void add_children(int group, int parent) {
        for (const std::size_t child : children_[static_cast<std::size_t>(group + 1)]) {
            for (int index = 1; index <= release_.groups[child].count; ++index) {
                const int self = static_cast<int>(instances_.size());
                instances_.push_back(make(child, parent, index));
                add_children(static_cast<int>(child), self);
            }
        }
    }

    GroupInstance make(std::size_t g, int parent, int index) {
        const Group& group = release_.groups[g];
        const std::int64_t at = group.at + group.stride * (index - 1);
        GroupInstance instance{static_cast<int>(g), parent, {}, -1, at, {}, {}};
        if (parent >= 0) {
            const GroupInstance& outer = instances_[static_cast<std::size_t>(parent)];
            instance.indices = outer.indices;
            instance.anchor = outer.anchor;
            instance.base += outer.base;
            instance.id = outer.id + ".";
        }
        if (group.tag) {
            const int around = run_around(release_, instances_, parent);
            instance.base = at;
            instance.anchor = anchors_.of_group(around, *group.tag, static_cast<int>(g), instances_.size());
        }
        if (group.named) {
            const int self = static_cast<int>(instances_.size());
            const auto [pick, nth] = picked(group, index);
            instance.anchor = anchors_.by_name(instance.anchor, pick, nth, self);
        }
        instance.indices.push_back(index);
        instance.id += name_part(group.path);
        if (group.count > 1) instance.id += "[" + std::to_string(index) + "]";
        instance.key = group.meaning + joined_indices(instance.indices);
        return instance;
    }

    /// How instance `index` is found by name, and which of those with its key it is.
    static std::pair<NamedPick, int> picked(const Group& group, int index) {
        NamedPick pick{*group.named, {}, group.count == 1, false};
        if (pick.place.by == NamedBy::order) return {pick, index};
        const auto& keys = group.named->keys;
        const auto own = static_cast<std::size_t>(index) - 1;
        pick.key = own < keys.size() ? keys[own] : std::to_string(index);
        pick.place.keys.clear();
        const auto end = keys.begin() + static_cast<std::ptrdiff_t>(std::min(own, keys.size()));
        const auto before = std::count(keys.begin(), end, pick.key);
        pick.single = std::count(keys.begin(), keys.end(), pick.key) <= 1;
        return {pick, static_cast<int>(before) + 1};
    }

    const Release& release_;
    AnchorList& anchors_;
    std::vector<std::vector<std::size_t>> children_;  // by group index + 1; 0 for the outermost
    std::vector<GroupInstance> instances_;
};

/// The fields of a release: each parameter in each instance of its group, lists value by value.
class FieldBuilder {
public:
    FieldBuilder(const Release& release, const std::vector<GroupInstance>& groups, AnchorList& anchors)
        : release_(release), groups_(groups), anchors_(anchors) {}

    std::vector<Field> build() {
        std::vector<std::vector<std::size_t>> members(release_.groups.size() + 1);
        for (std::size_t p = 0; p < release_.parameters.size(); ++p) {
            members[static_cast<std::size_t>(release_.parameters[p].group + 1)].push_back(p);
        }
        for (const std::size_t p : members[0]) add(p, -1);
        for (std::size_t g = 0; g < groups_.size(); ++g) {
            const std::size_t group = static_cast<std::size_t>(groups_[g].group + 1);
            for (const std::size_t p : members[group]) add(p, static_cast<int>(g));
        }
        return std::move(fields_);
    }

private:
    void add(std::size_t p, int group) {
        const Parameter& parameter = release_.parameters[p];
        Field field{static_cast<int>(p), group, -1, 0, parameter.id, parameter.meaning, {}, {}};
        std::int64_t base = 0;
        if (group >= 0) {
            const GroupInstance& instance = groups_[static_cast<std::size_t>(group)];
            field.anchor = instance.anchor;
            field.id = instance.id + "." + std::string(name_part(parameter.id));
            field.key += joined_indices(instance.indices);
            base = instance.base;
        }
        if (parameter.tag) {
            const int around = run_around(release_, groups_, group);
            field.anchor = anchors_.of_parameter(around, *parameter.tag, p);
            base = 0;
        }
        if (parameter.list_count == 0) return put(std::move(field), parameter, base);
        for (int element = 1; element <= parameter.list_count; ++element) {
            Field value = field;
            value.element = element;
            value.id += "[" + std::to_string(element) + "]";
            value.key += "/" + std::to_string(element);
            put(std::move(value), parameter, base + parameter.list_stride * (element - 1));
        }
    }

    void put(Field field, const Parameter& parameter, std::int64_t base) {
        if (parameter.storage.notation != Notation::bytes) {
            NamedPlace place;
            place.path = parameter.path.value_or("");
            place.notation = parameter.storage.notation;
            const NamedPick pick{place, {}, parameter.list_count == 0, !parameter.path};
            field.anchor = anchors_.by_name(field.anchor, pick, std::max(field.element, 1), -1);
        }
        field.storage = moved(parameter.storage, base);
        for (const Read& read : parameter.reads) field.reads.push_back(moved(read.storage, base));
        fields_.push_back(std::move(field));
    }

    const Release& release_;
    const std::vector<GroupInstance>& groups_;
    AnchorList& anchors_;
    std::vector<Field> fields_;
};

/// The id of a field with every index of its groups written; that of a list is its first value's.
std::string indexed_id(const Parameter& parameter, const std::vector<int>& indices) {
    auto steps = parse_id(parameter.id);
    if (!steps) return parameter.id;
    for (std::size_t i = 0; i < indices.size() && i + 1 < steps->size(); ++i) (*steps)[i].index = indices[i];
    return full_id(*steps);
}

}  // namespace

Instances::Instances(const Release& release) : release_(&release) {
    AnchorList anchors;
    groups_ = GroupBuilder(release, anchors).build();
    fields_ = FieldBuilder(release, groups_, anchors).build();
    anchors_ = anchors.take();
    for (std::size_t g = 0; g < groups_.size(); ++g) group_by_key_.emplace(groups_[g].key, g);
    for (std::size_t f = 0; f < fields_.size(); ++f) {
        const Field& field = fields_[f];
        by_key_.emplace(field.key, f);
        const bool grouped = field.group >= 0;
        by_full_id_.emplace(
            indexed_id(parameter(field),
                       grouped ? groups_[static_cast<std::size_t>(field.group)].indices : std::vector<int>{}),
            f);
    }
}

std::optional<std::size_t> Instances::resolve(std::string_view id, int from) const {
    auto steps = parse_id(id);
    if (!steps) return std::nullopt;
    std::string path;
    for (std::size_t i = 0; i + 1 < steps->size(); ++i) {
        IdStep& step = (*steps)[i];
        path += (i == 0 ? "" : ".") + step.name;
        if (step.index > 0) continue;
        bool same_path = false;
        for (int at = from; at >= 0 && !same_path; at = groups_[static_cast<std::size_t>(at)].parent) {
            const GroupInstance& instance = groups_[static_cast<std::size_t>(at)];
            const std::string& other = release_->groups[static_cast<std::size_t>(instance.group)].path;
            same_path = other == path;
            const bool nearest_name = step.index == 0 && name_part(other) == step.name;
            if (same_path || nearest_name) step.index = instance.indices.back();
        }
        if (step.index == 0) step.index = 1;
    }
    const auto found = by_full_id_.find(full_id(*steps));
    if (found == by_full_id_.end()) return std::nullopt;
    return found->second;
}

std::optional<std::size_t> Instances::find_key(std::string_view key) const {
    const auto found = by_key_.find(std::string(key));
    if (found == by_key_.end()) return std::nullopt;
    return found->second;
}

std::optional<std::size_t> Instances::find_group_key(std::string_view key) const {
    const auto found = group_by_key_.find(std::string(key));
    if (found == group_by_key_.end()) return std::nullopt;
    return found->second;
}

}  // namespace downfit::schema
