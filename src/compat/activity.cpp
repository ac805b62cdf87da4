#include "compat/activity.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace downfit::compat {
namespace {

using schema::GroupKind;

constexpr std::size_t most_scenes = 64;

std::size_t index_of(int i) {
    return static_cast<std::size_t>(i);
}

bool is_control(const BoundGroup& group) {
    return group.group->kind == GroupKind::controller || group.group->kind == GroupKind::control_switch;
}

bool lies_in(const CompiledRelease& release, int group, int outer) {
    for (int g = group; g >= 0; g = release.groups()[index_of(g)].parent) {
        if (g == outer) return true;
    }
    return false;
}

}  // namespace

bool is_there(const CompiledRelease& release, const LoadedPreset& preset, int group) {
    bool empty = true;
    for (std::size_t i = 0; i < release.fields().size(); ++i) {
        if (!lies_in(release, release.fields()[i].group, group)) continue;
        if (preset.fields[i].exists) return true;
        empty = false;
    }
    return empty;
}

ActivityMap::ActivityMap(const CompiledRelease& release, const LoadedPreset& preset) {
    for (const int scene : release.scenes()) {
        if (scene_groups_.size() < most_scenes && is_there(release, preset, scene)) scene_groups_.push_back(scene);
    }
    if (!scene_groups_.empty()) {
        const std::size_t count = scene_groups_.size();
        all_scenes_ = count == most_scenes ? ~std::uint64_t{0} : (std::uint64_t{1} << count) - 1;
        const int start = release.groups()[index_of(scene_groups_.front())].start_field;
        if (start >= 0) {
            // The nearest whole number, as an alternate's selector is read.
            const double wanted = std::round(preset.fields[index_of(start)].value);
            if (wanted >= 1 && wanted <= static_cast<double>(count)) start_ = static_cast<std::size_t>(wanted) - 1;
        }
    }
    find_controls(release, preset);
    judge_groups(release, preset);
    judge_fields(release, preset);
}

void ActivityMap::find_controls(const CompiledRelease& release, const LoadedPreset& preset) {
    controlled_.assign(release.fields().size(), false);
    idle_.assign(release.groups().size(), false);
    for (std::size_t g = 0; g < release.groups().size(); ++g) {
        const BoundGroup& group = release.groups()[g];
        if (group.reference_field < 0) continue;
        const Loaded& reference = preset.fields[index_of(group.reference_field)];
        idle_[g] = !reference.exists ||
                   release.fields()[index_of(group.reference_field)].parameter->nothing == reference.stored.whole;
        const int target = idle_[g] ? -1 : target_of(reference);
        if (target < 0) continue;
        controlled_[index_of(target)] = true;
        if (group.group->kind != GroupKind::controller) continue;
        const auto share = [&](int field, double otherwise) {
            return field < 0 ? otherwise : preset.fields[index_of(field)].value / 100.0;
        };
        travels_.emplace_back(index_of(target), Travel{share(group.heel_field, 0), share(group.toe_field, 1)});
    }
}

double ActivityMap::effective(const CompiledRelease& release, const LoadedPreset& preset, int field,
                              std::size_t scene) const {
    if (!scene_groups_.empty()) {
        for (const auto& candidate : release.overrides_of(field)) {
            if (candidate.scene != scene_groups_[scene]) continue;
            const Loaded& loaded = preset.fields[index_of(candidate.field)];
            const BoundField& bound = release.fields()[index_of(candidate.field)];
            if (loaded.exists && bound.parameter->as_base != loaded.stored.whole) return loaded.value;
        }
    }
    return preset.fields[index_of(field)].value;
}

std::uint64_t ActivityMap::overridden(const CompiledRelease& release, const LoadedPreset& preset, int field) const {
    std::uint64_t scenes = 0;
    for (const auto& candidate : release.overrides_of(field)) {
        const Loaded& loaded = preset.fields[index_of(candidate.field)];
        const BoundField& bound = release.fields()[index_of(candidate.field)];
        if (!loaded.exists || bound.parameter->as_base == loaded.stored.whole) continue;
        for (std::size_t s = 0; s < scene_groups_.size(); ++s) {
            if (scene_groups_[s] == candidate.scene) scenes |= std::uint64_t{1} << s;
        }
    }
    return scenes;
}

void ActivityMap::judge_groups(const CompiledRelease& release, const LoadedPreset& preset) {
    const std::size_t scenes = std::max<std::size_t>(1, scene_groups_.size());
    reach_.resize(release.groups().size());
    for (std::size_t g = 0; g < release.groups().size(); ++g) {
        const BoundGroup& group = release.groups()[g];
        Reach& reach = reach_[g];
        reach.met = all_scenes_;
        if (group.on_field >= 0) {
            // Off is told by the value: an override may have another number for "on" than the switch itself.
            reach.controlled = controlled_[index_of(group.on_field)];
            for (std::size_t s = 0; s < scenes; ++s) {
                if (effective(release, preset, group.on_field, s) == 0) reach.met &= ~(std::uint64_t{1} << s);
            }
        } else if (group.selector_field >= 0) {
            reach.controlled = controlled_[index_of(group.selector_field)];
            for (std::size_t s = 0; s < scenes; ++s) {
                if (std::lround(effective(release, preset, group.selector_field, s)) != group.index) {
                    reach.met &= ~(std::uint64_t{1} << s);
                }
            }
        }
    }
    groups_.resize(release.groups().size());
    for (std::size_t g = 0; g < groups_.size(); ++g) {
        const BoundGroup& group = release.groups()[g];
        if (is_control(group)) {
            groups_[g] = of_control(release, static_cast<int>(g));
        } else {
            groups_[g] = chain(release, static_cast<int>(g), all_scenes_);
        }
    }
}

std::pair<std::uint64_t, std::uint64_t> ActivityMap::reached(const CompiledRelease& release, int group,
                                                             std::uint64_t scenes) const {
    std::uint64_t met = scenes;
    std::uint64_t within_reach = scenes;
    for (int g = group; g >= 0; g = release.groups()[index_of(g)].parent) {
        const Reach& reach = reach_[index_of(g)];
        met &= reach.met;
        if (!reach.controlled) within_reach &= reach.met;
        if (release.groups()[index_of(g)].group->kind == GroupKind::scene) {
            // What lies in a scene is heard in that scene alone.
            for (std::size_t s = 0; s < scene_groups_.size(); ++s) {
                if (scene_groups_[s] == g) continue;
                met &= ~(std::uint64_t{1} << s);
                within_reach &= ~(std::uint64_t{1} << s);
            }
        }
    }
    return {met, within_reach};
}

Activity ActivityMap::chain(const CompiledRelease& release, int group, std::uint64_t scenes) const {
    if (scenes == 0) return Activity::dormant;
    const auto [met, within_reach] = reached(release, group, scenes);
    if ((met >> start_) & 1U) return Activity::sounding;
    if (within_reach != 0) return Activity::assigned;
    return release.describes_controls() ? Activity::dormant : Activity::standby;
}

Activity ActivityMap::of_control(const CompiledRelease& release, int group) const {
    for (int g = group; g >= 0; g = release.groups()[index_of(g)].parent) {
        if (idle_[index_of(g)]) return Activity::dormant;
    }
    return Activity::sounding;
}

Activity ActivityMap::of_override(const CompiledRelease& release, const BoundField& field) const {
    const int scene = release.groups()[index_of(field.group)].scene;
    const int target_group = release.fields()[index_of(field.overrides)].group;
    for (std::size_t s = 0; s < scene_groups_.size(); ++s) {
        if (scene_groups_[s] == scene) return chain(release, target_group, std::uint64_t{1} << s);
    }
    return Activity::dormant;
}

void ActivityMap::judge_fields(const CompiledRelease& release, const LoadedPreset& preset) {
    fields_.resize(release.fields().size());
    for (std::size_t i = 0; i < fields_.size(); ++i) {
        const BoundField& field = release.fields()[i];
        if (field.group < 0) {
            fields_[i] = Activity::sounding;
        } else if (field.overrides >= 0) {
            fields_[i] = of_override(release, field);
        } else {
            fields_[i] = groups_[index_of(field.group)];
        }
        const std::uint64_t left = all_scenes_ & ~overridden(release, preset, static_cast<int>(i));
        if (left != all_scenes_) fields_[i] = chain(release, field.group, left);
    }
}

bool ActivityMap::on_in_scene(const CompiledRelease& release, std::size_t group, std::size_t scene) const {
    return reached(release, static_cast<int>(group), std::uint64_t{1} << scene).first != 0;
}

std::vector<Travel> ActivityMap::travels_of(std::size_t field) const {
    std::vector<Travel> travels;
    for (const auto& [target, travel] : travels_) {
        if (target == field) travels.push_back(travel);
    }
    return travels;
}

}  // namespace downfit::compat
