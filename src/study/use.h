// What changes between two releases do to a real bank: every preset is checked as `check` does it, and each finding is
// put down to the changes that it comes from.
#pragma once

#include <array>
#include <cstddef>
#include <set>
#include <string>
#include <vector>

#include "compat/watch.h"
#include "study/change.h"

namespace downfit::study {

/// A dump, and the bytes that it was read from.
struct UsedDump {
    const dump::Dump* dump = nullptr;
    ByteView bytes;
};

/// A preset that goes one way.
struct UsedPreset {
    std::size_t file = 0;  ///< index into the dumps
    int slot = -1;         ///< as shown
    std::string name;
    std::string saved_on;
    compat::Verdict verdict = compat::Verdict::undecided;
    bool damaged = false;
};

/// What one change does to the presets that go one way.
struct ChangeUse {
    std::vector<std::size_t> presets;  ///< that it makes a difference to, however slight: indices into WayUse::presets
    std::vector<std::size_t> audible;  ///< those of them that it changes audibly or severely
    std::vector<std::size_t> without;  ///< others that hold it where it makes no difference
    std::size_t findings = 0;
};

/// A parameter with findings that come from no change told.
struct Unexplained {
    std::string parameter;  ///< without brackets
    compat::Outcome outcome = compat::Outcome::unsure;
    std::size_t presets = 0;
};

/// All presets that go one way: from newer to older ("back"), or from older to newer.
struct WayUse {
    std::size_t target = 0;           ///< order of the release that they are loaded on
    std::vector<UsedPreset> presets;  ///< in order of files and slots
    std::vector<ChangeUse> changes;   ///< parallel to the changes
    std::size_t findings = 0;         ///< of all presets; as many as `check` tells
    std::size_t put_down = 0;         ///< of them, how many come from a change that is told
    std::vector<Unexplained> others;  ///< the rest: assets that are missing, doubts, what came and went between

    /// How many presets are refused, those in `apart` left out.
    [[nodiscard]] std::size_t refused_but(const std::set<std::size_t>& apart) const;
    /// How many presets have that verdict; damaged ones are counted apart.
    [[nodiscard]] std::size_t of(compat::Verdict verdict) const;
    [[nodiscard]] std::size_t damaged() const;
};

struct Use {
    WayUse back, forward;
    std::size_t damaged = 0;  ///< presets so damaged that nobody knows which release saved them
    std::size_t outside = 0;  ///< presets saved on neither release nor between them, or on nobody knows which
};

/// Checks the presets: those saved after `older` and not after `newer` on `older`, those saved from `older` on and
/// before `newer` on `newer`. `options` are those of a check; its targets and floors are set here. The numbers are
/// those of `check`: the same loading simulation. `watch` is told how many entries of the dumps are done.
[[nodiscard]] Use use_of(const schema::Device& device, std::size_t older, std::size_t newer,
                         const std::vector<Change>& changes, const std::vector<UsedDump>& dumps,
                         compat::CheckOptions options, const compat::Watch& watch = {});

}  // namespace downfit::study
