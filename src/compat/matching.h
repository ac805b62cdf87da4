// Which preset of one set of dumps belongs to which of another: by slot, by file and slot, or by name.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dump/dump.h"

namespace downfit::compat {

/// What is known of one preset for finding its partner. Empty slots may be among them: they match by slot only.
struct Matchable {
    std::string file;   ///< the dump's name without folders
    int slot = -1;      ///< as shown, -1 where the dump does not number it
    std::string name;   ///< may be empty
    std::string alias;  ///< another name under which it may come back (what a release leaves of the name), or empty
    dump::SlotState state = dump::SlotState::filled;
};

enum class MatchBy : std::uint8_t {
    slot,
    file_and_slot,  ///< where a set has the same slot in several files
    name,
    alone,  ///< each set holds one preset
};
[[nodiscard]] std::string_view match_name(MatchBy by);

/// Two that belong together, or one alone: indices into the lists given.
struct Match {
    std::optional<std::size_t> first, second;
};

struct Matching {
    MatchBy by = MatchBy::slot;
    std::vector<Match> matches;    ///< all of the first list in its order, then what only the second has
    std::size_t other_names = 0;   ///< of matches by slot: how many have names, and different ones
    std::size_t shared_names = 0;  ///< names that stand several times, so that slot or order decided
};

/// Finds partners. Without `asked` by slot where both sets number all their slots, by file and slot where the same
/// slot stands in several files, else by name; one preset against one belongs together whatever it is called.
[[nodiscard]] Matching match_presets(const std::vector<Matchable>& first, const std::vector<Matchable>& second,
                                     std::optional<MatchBy> asked = std::nullopt);

}  // namespace downfit::compat
