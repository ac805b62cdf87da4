// Coverage: how much of the presets' bytes the schemas explain, and what in the dumps the schemas do not expect.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "dump/claims.h"
#include "dump/dump.h"
#include "study/places.h"
#include "study/readers.h"

namespace downfit::study {

/// How one place looks over all presets that have it.
enum class Look : std::uint8_t {
    framing,         ///< the layout's own: heads and ends of records, stamp, marks, checks, volatile bytes
    same,            ///< explained, and the same everywhere
    varying,         ///< explained, and differs
    partly,          ///< explained in part, and bits that no parameter covers differ
    unknown,         ///< not explained, the same everywhere
    unknown_varies,  ///< not explained, and differs; or in a record that nobody takes and not all presets have
};
inline constexpr std::size_t look_count = 6;

struct SeenByte {
    Place place;
    Look look = Look::same;
    std::uint8_t explained = 0;        ///< bits that somebody explains
    std::uint8_t differing = 0;        ///< bits that differ between presets
    std::uint8_t least = 0, most = 0;  ///< the least and most byte seen
    std::size_t presets = 0;           ///< that have it
};

/// Something of one parameter that was seen in presets.
struct Seen {
    std::string parameter;  ///< its id, without instances
    std::string field;      ///< the instance in which it was seen first, "amp[2].drive"
    std::size_t presets = 0;
    std::string file;         ///< of the first preset
    int slot = -1;            ///< of the first preset, as shown
    std::string least, most;  ///< values as people read them; stored numbers where they have no meaning
    std::string expected;     ///< "-60..12", or "a choice"
};

/// A parameter with one and the same value in all presets that have it.
struct Unmoved {
    std::string parameter;
    std::size_t presets = 0;  ///< that have it; 0: never seen at all
    bool at_default = false;  ///< that value is its default; else it has no default, or another
    std::string value;        ///< empty where it differs between instances or by conditions, and where never seen
};

/// By name: a value that no parameter takes, in all presets that have it.
struct SeenValue {
    std::string path;  ///< from the preset
    std::string text;  ///< as it stands in the first preset that has it
    std::size_t presets = 0;
    bool differs = false;  ///< another text somewhere, or left out where what it stands in is there
};

/// Of a layout of JSON or XML, in place of bytes.
struct SeenNames {
    std::size_t values = 0, explained = 0;  ///< summed over all presets, the layout's own left out
    std::size_t paths = 0;                  ///< different ones
    std::vector<SeenValue> unexplained;     ///< in order of their paths

    [[nodiscard]] std::size_t varying() const;
};

/// All presets (or settings) of one layout that one release saved.
struct Covered {
    std::size_t release = 0;
    std::size_t layout = 0;
    std::size_t presets = 0;
    std::size_t body_bytes = 0, explained_bytes = 0;       ///< summed over all presets
    std::vector<SeenByte> bytes;                           ///< by place; none of what is read by name
    std::optional<SeenNames> names_seen;                   ///< of what is read by name
    std::map<std::vector<RecordStep>, std::string> names;  ///< of records that the release takes: "drive[2]"
    std::vector<Seen> beyond;                              ///< outside the range or choices that the release states
    std::vector<Unmoved> unmoved;                          ///< in the order of the release

    [[nodiscard]] std::size_t count(Look look) const;
    /// Places that no parameter explains, and those of them that differ.
    [[nodiscard]] std::size_t unexplained() const { return count(Look::unknown) + count(Look::unknown_varies); }
    [[nodiscard]] std::size_t unexplained_varying() const { return count(Look::unknown_varies); }
};

/// Dumps that belong together. The dumps must outlive it.
struct Coverage {
    std::vector<Covered> parts;       ///< by release, then layout
    std::size_t without_release = 0;  ///< presets of which no release file is known
    std::size_t damaged = 0;          ///< presets that could not be read whole
};

struct CoverageOptions {
    std::optional<std::size_t> saved_on;  ///< the release of presets without a stamp
    bool settings = false;                ///< unit settings too
    bool values = true;                   ///< what parameters hold, not only bytes
};

/// Looks at all presets of the dumps, which are all of the readers' device. Of those that are read by name (JSON, XML)
/// values stand in place of bytes.
[[nodiscard]] Coverage find_coverage(const std::vector<const dump::Dump*>& dumps, Readers& readers,
                                     const CoverageOptions& options);

}  // namespace downfit::study
