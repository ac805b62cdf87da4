#include "report/contents.h"

namespace downfit::report {

std::string_view state_name(dump::SlotState state) {
    switch (state) {
        case dump::SlotState::filled: return "filled";
        case dump::SlotState::empty: return "empty";
        case dump::SlotState::absent: return "absent";
        case dump::SlotState::damaged: break;
    }
    return "damaged";
}

std::vector<bool> groups_off(const EntryContents& entry) {
    const schema::Instances& instances = *entry.instances;
    std::vector<const dump::Leaf*> leaf_of(instances.fields().size(), nullptr);
    for (const dump::Leaf& leaf : entry.tree) leaf_of[leaf.field] = &leaf;
    std::vector<bool> off(instances.groups().size(), false);
    for (std::size_t i = 0; i < off.size(); ++i) {
        const schema::GroupInstance& instance = instances.groups()[i];
        if (instance.parent >= 0 && off[static_cast<std::size_t>(instance.parent)]) off[i] = true;
        const schema::Group& group = instances.release().groups[static_cast<std::size_t>(instance.group)];
        if (group.kind != schema::GroupKind::block || group.on_by.empty()) continue;
        const auto field = instances.resolve(group.on_by, static_cast<int>(i));
        if (!field || leaf_of[*field] == nullptr || !leaf_of[*field]->exists) continue;
        if (leaf_of[*field]->stored.whole != instances.parameter(instances.fields()[*field]).on) off[i] = true;
    }
    return off;
}

}  // namespace downfit::report
