#include "schema/instances.h"

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

/// The group instances of a release, parents before children, each parent's children together.
class GroupBuilder {
public:
    explicit GroupBuilder(const Release& release) : release_(release), children_(release.groups.size() + 1) {
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

    GroupInstance make(std::size_t g, int parent, int index) const {
        const Group& group = release_.groups[g];
        GroupInstance instance{static_cast<int>(g), parent, {}, group.at + group.stride * (index - 1), {}, {}};
        if (parent >= 0) {
            const GroupInstance& outer = instances_[static_cast<std::size_t>(parent)];
            instance.indices = outer.indices;
            instance.base += outer.base;
            instance.id = outer.id + ".";
        }
        instance.indices.push_back(index);
        instance.id += name_part(group.path);
        if (group.count > 1) instance.id += "[" + std::to_string(index) + "]";
        instance.key = group.meaning + joined_indices(instance.indices);
        return instance;
    }

    const Release& release_;
    std::vector<std::vector<std::size_t>> children_;  // by group index + 1; 0 for the outermost
    std::vector<GroupInstance> instances_;
};

/// The id of a field with every index written.
std::string indexed_id(const Parameter& parameter, const std::vector<int>& indices) {
    auto steps = parse_id(parameter.id);
    if (!steps) return parameter.id;
    for (std::size_t i = 0; i < indices.size() && i + 1 < steps->size(); ++i) (*steps)[i].index = indices[i];
    return full_id(*steps);
}

}  // namespace

Instances::Instances(const Release& release) : release_(&release), groups_(GroupBuilder(release).build()) {
    std::vector<std::vector<std::size_t>> members(release.groups.size() + 1);
    for (std::size_t p = 0; p < release.parameters.size(); ++p) {
        members[static_cast<std::size_t>(release.parameters[p].group + 1)].push_back(p);
    }
    const auto add = [&](std::size_t p, int group) {
        const Parameter& parameter = release.parameters[p];
        Field field{static_cast<int>(p), group, parameter.id, parameter.meaning, parameter.storage};
        std::vector<int> indices;
        if (group >= 0) {
            const GroupInstance& instance = groups_[static_cast<std::size_t>(group)];
            indices = instance.indices;
            field.id = instance.id + "." + std::string(name_part(parameter.id));
            field.key += joined_indices(indices);
            field.storage = moved(std::move(field.storage), instance.base);
        }
        by_key_.emplace(field.key, fields_.size());
        by_full_id_.emplace(indexed_id(parameter, indices), fields_.size());
        fields_.push_back(std::move(field));
    };
    for (const std::size_t p : members[0]) add(p, -1);
    for (std::size_t g = 0; g < groups_.size(); ++g) {
        group_by_key_.emplace(groups_[g].key, g);
        for (const std::size_t p : members[static_cast<std::size_t>(groups_[g].group + 1)]) add(p, static_cast<int>(g));
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
