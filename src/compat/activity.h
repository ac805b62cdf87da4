// Activity: what of a loaded preset can be heard, scene by scene (docs/loading.md, "Weight").
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "compat/loader.h"
#include "compat/outcome.h"

namespace downfit::compat {

/// One controller that moves a field: the shares (0 to 1) of the field's stored range at its ends.
struct Travel {
    double heel = 0, toe = 1;
};

/// Whether a group instance is there: fields carry their groups' conditions. One without any field always is.
[[nodiscard]] bool is_there(const CompiledRelease& release, const LoadedPreset& preset, int group);

/// The activity of every field of one loaded preset on one release, and what its controllers move.
class ActivityMap {
public:
    /// `preset` must have been loaded on `release` and not refused. Keeps no reference to either.
    ActivityMap(const CompiledRelease& release, const LoadedPreset& preset);

    [[nodiscard]] Activity of_field(std::size_t field) const { return fields_[field]; }
    [[nodiscard]] Activity of_group(std::size_t group) const { return groups_[group]; }
    /// Scenes of the preset; 1 where it has none.
    [[nodiscard]] std::size_t scene_count() const { return scene_groups_.empty() ? 1 : scene_groups_.size(); }
    /// Whether a group is on in that scene (counted from 0), with all around it.
    [[nodiscard]] bool on_in_scene(const CompiledRelease& release, std::size_t group, std::size_t scene) const;
    /// The travels of all controllers whose target is `field`; mostly empty.
    [[nodiscard]] std::vector<Travel> travels_of(std::size_t field) const;

private:
    /// What one group instance needs so that it sounds, for each scene: met or not; and whether a control can bring it
    /// about.
    struct Reach {
        std::uint64_t met = 0;  ///< bit s: in scene s
        bool controlled = false;
    };

    void find_controls(const CompiledRelease& release, const LoadedPreset& preset);
    void judge_groups(const CompiledRelease& release, const LoadedPreset& preset);
    void judge_fields(const CompiledRelease& release, const LoadedPreset& preset);
    [[nodiscard]] double effective(const CompiledRelease& release, const LoadedPreset& preset, int field,
                                   std::size_t scene) const;
    [[nodiscard]] std::uint64_t overridden(const CompiledRelease& release, const LoadedPreset& preset, int field) const;
    /// What group instance `group` and all around it need, in the scenes in `scenes` alone: met, and met or within a
    /// control's reach.
    [[nodiscard]] std::pair<std::uint64_t, std::uint64_t> reached(const CompiledRelease& release, int group,
                                                                  std::uint64_t scenes) const;
    /// The activity of group instance `group` looking only at the scenes in `scenes`.
    [[nodiscard]] Activity chain(const CompiledRelease& release, int group, std::uint64_t scenes) const;
    [[nodiscard]] Activity of_control(const CompiledRelease& release, int group) const;
    [[nodiscard]] Activity of_override(const CompiledRelease& release, const BoundField& field) const;

    std::vector<Activity> fields_, groups_;
    std::vector<Reach> reach_;      // one a group instance
    std::vector<bool> controlled_;  // one a field: some control moves it
    std::vector<bool> idle_;        // one a group instance: a control that controls nothing
    std::vector<std::pair<std::size_t, Travel>> travels_;
    std::vector<int> scene_groups_;  // existing scenes, as group instances; empty: one scene, the base
    std::uint64_t all_scenes_ = 1;
    std::size_t start_ = 0;  // index into scene_groups_
};

}  // namespace downfit::compat
