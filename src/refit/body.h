// One preset's body written anew for another release.
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "compat/explore.h"
#include "dump/dump.h"

namespace downfit::refit {

/// A release that takes everything: nothing is refused, and what nobody states is done in the way that changes least.
/// What it reads is what the release itself reads where that loads the preset.
[[nodiscard]] schema::Release lenient(const schema::Release& release);

/// What stands where T lacks what N has. The first that fits is taken.
struct Substitute {
    std::string parameter;    ///< as N or T calls it, with or without brackets
    schema::Setting lost;     ///< what N has
    schema::Setting instead;  ///< what T gets
};

/// How an older copy was recognised as one of the same preset.
enum class FoundBy : unsigned char {
    nothing,  ///< there is none
    name,     ///< it has the preset's name; of several, the one in its slot
    slot,     ///< it lies in the preset's slot, and one of the two has no name
    only,     ///< both dumps hold a single preset
};

/// An older copy of the same preset, loaded on the release that saved it.
struct OlderCopy {
    const compat::CompiledRelease* release = nullptr;
    const compat::LoadedPreset* preset = nullptr;
    FoundBy found_by = FoundBy::nothing;
    std::string file, name;
    int slot = -1;  ///< as shown
};

/// What became of one parameter while the body was written.
struct Note {
    enum class Kind : unsigned char {
        substituted,
        filled,
        withheld,  ///< left as stored: with what it means put there, the preset would be worse off
    };
    Kind kind = Kind::substituted;
    std::string parameter;       ///< as T calls it
    std::size_t substitute = 0;  ///< which of Writing::substitutes
};

/// Everything that writing a body needs. Refers to all of it.
struct Writing {
    const compat::ReleasePair& pair;       ///< N and T itself, not rewritten: what lies under what
    const compat::CompiledRelease& taker;  ///< lenient(T), compiled
    const schema::Framing& framing;
    std::size_t layout = 0;
    bool fixed = false;  ///< the body's length cannot change
    int slot = -1;       ///< as shown
    ByteView settings;   ///< of the unit
    const compat::Hearing& hearing;
    const std::vector<Substitute>& substitutes;
    OlderCopy older;               ///< without one: nulls
    std::set<std::size_t> left{};  ///< fields of T that are not to be written
};

struct WrittenBody {
    Bytes body;
    std::vector<Note> notes;
    std::size_t written = 0;       ///< parameters whose bytes changed, and records with another version or none
    std::set<std::size_t> fields;  ///< of T, those whose bytes changed
};

/// Writes for T what `saved`, one loading of the preset on N, means; `body` carries T's stamp already. Parameters whose
/// value T gets anyway are not touched.
[[nodiscard]] WrittenBody write_body(const Writing& writing, const compat::LoadedPreset& saved,
                                     const compat::Assumptions& assumptions, Bytes body);

}  // namespace downfit::refit
