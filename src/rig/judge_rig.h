// Which unit plays which song: every preset of the set list loaded, on paper, on every unit of a rig.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "compat/watch.h"
#include "rig/leaning.h"
#include "rig/ruling.h"
#include "schema/rig.h"

namespace downfit::rig {

/// The files of a rig, read. Dumps and devices must outlive what is made from it.
struct Material {
    const schema::Rig* rig = nullptr;
    std::vector<const schema::Device*> devices;         ///< one a unit
    std::vector<std::vector<const dump::Dump*>> dumps;  ///< one list a Rig::dumps: a folder has several files
    std::vector<std::optional<std::size_t>> saved_on;   ///< one a Rig::dumps: for presets without a stamp
    std::vector<const dump::Dump*> everywhere;          ///< what every unit of their device holds besides
    const schema::Policy* policy = nullptr;             ///< must fit the devices; without one, the usual
    std::string today;                                  ///< YYYY-MM-DD: decides which acceptances have ended
};

/// One preset that songs ask for; each once.
struct Preset {
    const schema::Device* device = nullptr;
    const dump::Dump* dump = nullptr;
    const dump::Entry* entry = nullptr;
    std::size_t from = 0;  ///< index into Rig::dumps
    int slot = -1;         ///< as shown; -1 where the dump does not number it
    std::string name;
    std::vector<AssetUse> assets;  ///< that it points at
};

/// What a song needs: indices into RigCheck::presets.
struct Need {
    std::size_t preset = 0;
    std::vector<std::size_t> substitutes;
};

/// How a preset, or a song, does on a unit; higher is worse.
enum class Play : std::uint8_t {
    intact,
    near,
    substitute,  ///< not itself, but a substitute does
    undecided,
    altered,
    refused,
    foreign,  ///< a preset of another device
};
inline constexpr std::size_t play_count = 7;

/// "intact", "near", "substitute", …
[[nodiscard]] std::string_view play_name(Play play);
[[nodiscard]] inline bool as_saved(Play play) {
    return play <= Play::near;
}
[[nodiscard]] inline bool plays(Play play) {
    return play <= Play::substitute;
}

/// Something that a unit does not hold as it should.
struct Lacking {
    AssetUse use;
    Standing standing;  ///< missing, other or unknown
};

/// A preset on a unit.
struct OnUnit {
    /// One for each release of the unit's device; `foreign` all over for another device's preset, and where there is no
    /// release file `undecided`.
    std::vector<Play> plays;
    compat::TargetCheck now;       ///< on the release that the unit runs; empty where foreign
    compat::TargetRuling ruling;   ///< what the policy makes of `now`; empty where foreign
    std::vector<Lacking> lacking;  ///< of what it points at
};

/// A song on a unit, as things are. Something would be played: a preset as saved, or one that the policy lets pass.
struct Pair {
    Play play = Play::foreign;  ///< the worst of its presets: what happens, whatever the policy says
    std::size_t worst = 0;      ///< index into the song's needs: the first of those
    Ruled ruled = Ruled::failing;
    bool caution = false;  ///< something that would be played carries one
    bool lacks = false;    ///< something that would be played leans on an asset that is missing or another there
    bool unseen = false;   ///< or on one of which nothing is known there
    [[nodiscard]] bool ready() const { return plays(play) && !lacks; }
    /// The policy lets it pass although not all of it plays, or does not although all of it does.
    [[nodiscard]] bool let_pass() const { return ruled <= Ruled::lacking && !plays(play); }
    [[nodiscard]] bool held_back() const { return ruled > Ruled::lacking && plays(play); }
};

/// Whether a song can be played tonight, on the units as they are: by the best of them.
enum class Served : std::uint8_t {
    as_saved,
    by_substitute,
    lacking,    ///< only where an asset must be put in first
    undecided,  ///< a unit may play it, none is sure to
    nowhere
};
inline constexpr std::size_t served_count = 5;
[[nodiscard]] std::string_view served_name(Served served);

/// A unit's own presets: how many of them arrive (intact or near) on each release, and which do not that do now.
struct OwnPresets {
    std::size_t count = 0;
    std::vector<std::size_t> plays, lost, won;  ///< one for each release; lost and won as against the release it runs
};

struct RigCheck {
    std::vector<Preset> presets;
    std::vector<std::vector<Need>> songs;  ///< one list a song
    std::vector<std::size_t> running;      ///< one a unit: order of its release
    std::vector<std::vector<OnUnit>> on;   ///< [preset][unit]
    std::vector<std::vector<Pair>> pairs;  ///< [song][unit]
    std::vector<OwnPresets> own;           ///< one a unit
    std::vector<EntryRuling> accepted;     ///< one for each Policy::accepted

    [[nodiscard]] Served served(std::size_t song) const;
    /// How a song does by the policy on the unit that does best.
    [[nodiscard]] Ruled ruled(std::size_t song) const;
    /// Which preset of a need the policy lets pass on a unit as it is: that which is played, else its own or the first
    /// substitute. Nothing where it lets none pass.
    [[nodiscard]] std::optional<std::size_t> let_pass(const Need& need, std::size_t unit) const;
    /// The same of a need by itself: within, undecided or failing.
    [[nodiscard]] Ruled ruled(const Need& need, std::size_t unit) const;
    /// Presets that songs need (not substitutes) and no unit plays as saved now, in playing order, each once.
    [[nodiscard]] std::vector<std::size_t> nowhere_as_saved() const;
    /// How a song does on a unit on a release.
    [[nodiscard]] Play play(std::size_t song, std::size_t unit, std::size_t release) const;
    [[nodiscard]] Play play(const Need& need, std::size_t unit, std::size_t release) const;
    /// Which preset is played for a need there: its own, or the first substitute that plays.
    [[nodiscard]] std::size_t played(const Need& need, std::size_t unit, std::size_t release) const;
};

/// Finds the presets that the songs name and judges everything. Fails where the rig names presets that are not there,
/// with the place in the rig file. `watch` is told how many presets are done, those of the units too.
[[nodiscard]] Result<RigCheck> check_rig(const Material& material, const compat::Watch& watch = {});

}  // namespace downfit::rig
