// Outcome and weight of every parameter, and the verdict, over all worlds that unstated rules leave open.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "second/player.h"

namespace downfit::testing::second {

/// What becomes of one parameter in one world.
struct Fate {
    std::string outcome = "kept";
    int best = 0, worst = 0;
    int activity = 0;
    std::string meant = "-", there = "-";  ///< values as text; "-" where it does not exist
    std::string caution;

    auto operator<=>(const Fate&) const = default;
};

/// What becomes of a preset.
struct Told {
    std::string verdict, best, worst;             ///< "intact", "near", "altered", "undecided", "refused"
    std::map<std::string, std::set<Fate>> fates;  ///< by "N's name|T's name", all worlds
    std::set<std::string> doubts;                 ///< names on N, any world
    std::size_t worlds = 0;
    bool cut = false;       ///< its records do not fit: damaged, and nothing is told of its parameters
    bool too_many = false;  ///< too many worlds to try; nothing else is told
};

/// How one choice of one parameter sounds otherwise on the loading release than on the saving one.
struct Revoicing {
    std::string parameter, thing;  ///< origins
    int weight = 0;
    std::optional<double> rise;  ///< in dB; nothing where nobody says
};

/// A pair of releases.
struct Pair {
    Manual saved, loading;
    Sheet saved_sheet, loading_sheet;
    std::vector<Revoicing> revoiced{};
    bool rewritten = false;  ///< what the loading one loads was written for it: nothing else lies under its places
};

[[nodiscard]] Pair pair_of(const Shelf& shelf, const std::string& saved, const std::string& loading);

/// What becomes of every parameter in one world, by "N's name|T's name".
[[nodiscard]] std::map<std::string, Fate> fates_of(const Pair& pair, const Played& saved, const Played& loading);

/// Judges a preset in every world.
[[nodiscard]] Told judge(const Pair& pair, const Shelf& shelf, const Body& body);

/// The same where the loading release loads another body than the one that was saved.
[[nodiscard]] Told judge(const Pair& pair, const Shelf& shelf, const Body& body, const Body& there);

/// A number as this page compares them: 12 digits.
[[nodiscard]] std::string number_words(double value);

}  // namespace downfit::testing::second
