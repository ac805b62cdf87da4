// What a report on `check` is made from: results, and what was asked. Whoever calls gathers it; reports only show it.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "compat/policy.h"
#include "report/baseline.h"

namespace downfit::report {

/// A dump file that was given, and what it turned out to hold.
struct InputFile {
    std::string file;
    std::string digest;              ///< SHA-256, hex
    std::vector<std::string> holds;  ///< "presets", "unit-settings", asset kinds; each once, in file order
    std::vector<int> empty, absent;  ///< preset slots as shown, rising; only where it holds presets
    Problems problems;               ///< what belongs to no preset
    std::string damage;              ///< the first of them that is damage, in a few words; empty for none
};

/// One preset that was looked at.
struct PresetReport {
    std::size_t file = 0;  ///< index into CheckReport::files
    compat::PresetCheck check;
    Problems damage;  ///< of a damaged one
};

/// Bytes that no parameter explains, over all presets that one release saved (study/coverage.h).
struct Unexplained {
    std::string release;      ///< that saved the presets
    std::size_t bytes = 0;    ///< places that no parameter explains
    std::size_t varying = 0;  ///< of them, how many differ between presets
    std::size_t presets = 0;
    std::size_t places = 0;          ///< all places of its presets
    std::size_t partly_varying = 0;  ///< explained in part only, with other bits that differ
    bool values = false;             ///< some of its presets are read by name: values are counted there, not bytes
};

/// Presets that lean on an asset kind of which no dump was given.
struct Leaning {
    std::string asset, title;
    std::size_t presets = 0;
};

/// A preset that a song of tonight needs (`--songs`).
struct TonightPreset {
    std::size_t song = 0;               ///< number of the song, from 1
    std::string title;                  ///< of the song
    bool substitute = false;            ///< only in another's stead
    std::string file;                   ///< the dump that it is in, as the rig file names it
    std::string label;                  ///< "slot 12", or its name
    std::optional<int> slot;            ///< as the rig file has it
    std::string name;                   ///< the same; or empty
    std::optional<std::size_t> preset;  ///< index into CheckReport::presets; nothing where it was not looked at
};

/// Tonight's presets, in playing order.
struct Tonight {
    std::string file, title;  ///< the rig file's
    std::vector<TonightPreset> presets;
};

/// The policy, and what it makes of the presets. Without a policy file the usual one: whatever changes audibly fails.
struct PolicyReport {
    schema::Policy policy;
    std::string today;      ///< YYYY-MM-DD
    compat::Ruling ruling;  ///< over CheckReport::presets; made by report/ruling.h
};

/// Everything that a report on `check` tells.
struct CheckReport {
    const schema::Device* device = nullptr;  ///< must outlive it
    std::string version;                     ///< of the program
    std::vector<std::size_t> targets;        ///< orders of releases, as asked
    bool all_releases = false;               ///< `--on all`: there are floors
    std::string saved_on, variant;           ///< as asked, may be empty
    std::string slots, name;                 ///< filters as asked, may be empty
    std::vector<InputFile> files;            ///< in the order of the call
    std::vector<PresetReport> presets;       ///< filled and damaged ones, in file order, after filtering
    std::size_t left_out = 0;                ///< by the filters
    std::optional<Tonight> tonight;          ///< with `--songs`
    std::vector<Unexplained> unexplained;
    std::vector<Leaning> leaning;
    std::optional<BaselineFile> baseline;  ///< put in before the policy rules
    PolicyReport policy;
    std::string again;  ///< options that the same check needs again, each after a space

    [[nodiscard]] const schema::ReleaseEntry& release(std::size_t order) const { return device->releases[order]; }
    [[nodiscard]] bool filtered() const { return !slots.empty() || !name.empty(); }
};

}  // namespace downfit::report
