// A policy over a rig: what it makes of each preset on the release that each unit runs. It says what counts as good
// enough; what happens to a preset, cautions among it, stays as it is.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "compat/policy.h"
#include "schema/rig.h"

namespace downfit::rig {

/// How a song does on a unit by the policy; higher is worse.
enum class Ruled : std::uint8_t {
    within,
    lacking,    ///< within it once an asset is put in
    undecided,  ///< at least one of its presets is, none fails
    failing
};
inline constexpr std::size_t ruled_count = 4;
/// "within", "assets-lacking", "undecided", "failing".
[[nodiscard]] std::string_view ruled_name(Ruled ruled);

/// A finding of a song's preset on a unit that an acceptance means but does not cover.
struct UnitLapse {
    std::size_t unit = 0;
    std::size_t preset = 0;  ///< index into RigCheck::presets
    compat::Lapse lapse;     ///< `preset` and `target` of it mean nothing here
};

/// What became of one acceptance.
struct EntryRuling {
    std::size_t findings = 0;       ///< that it accepts, in presets of songs on the units: once for each unit
    std::vector<UnitLapse> lapses;  ///< in the order of presets, then units
    bool ended = false;             ///< its date is past
    /// It means no finding of any preset that was looked at, those of the units' own dumps among them, and there is a
    /// unit that it could mean.
    bool stale = false;
};

/// Applies a policy preset by preset. It must outlive this.
class Rulings {
public:
    /// Without a policy file, the usual one: whatever changes audibly fails.
    Rulings(const schema::Policy* policy, std::string today);
    Rulings(const Rulings&) = delete;
    Rulings& operator=(const Rulings&) = delete;

    /// The policy for presets of a device: the usual one where the policy is for another device.
    [[nodiscard]] const schema::Policy& policy_for(const schema::Device& device) const;
    /// Whether anything may be accepted there, so that presets need fingerprints and all that they may be.
    [[nodiscard]] bool accepts(const schema::Device& device) const { return !policy_for(device).accepted.empty(); }

    /// Rules over a song's preset, checked on the one release that the unit runs.
    compat::TargetRuling rule(const schema::Device& device, const compat::PresetCheck& check, std::size_t preset,
                              std::size_t unit);
    /// Notes what acceptances mean in a preset of no song, checked on the one release that its unit runs.
    void note(const schema::Device& device, const compat::PresetCheck& check);

    /// What became of the acceptances.
    [[nodiscard]] std::vector<EntryRuling> finish(const std::vector<schema::RigUnit>& units) &&;

private:
    [[nodiscard]] compat::Ruling apply(const schema::Device& device, const compat::PresetCheck& check) const;

    const schema::Policy usual_;
    const schema::Policy* policy_;
    std::string today_;
    std::vector<EntryRuling> entries_;
    std::vector<bool> met_;  ///< by any preset that was looked at
};

}  // namespace downfit::rig
