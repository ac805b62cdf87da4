// Refitted presets before the second loader: it reads what was written, loads it, and judges it against the original.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "refit/refit.h"
#include "second/agree.h"
#include "second/judge.h"

namespace downfit::testing::second {

/// One preset before and after, and what the library says of it.
struct Refit {
    Body original, now;
    bool written = false;            ///< and not left as it was
    std::string verdict;             ///< of the library, on what was written
    std::string best, worst;         ///< the same
    bool all_tried = true;           ///< the library tried all that nobody states
    std::set<std::string> withheld;  ///< names on T that the library says it left as stored
};

/// What refitting one preset (an index into RefitResult::presets) told; `now` is what was written.
[[nodiscard]] Refit refit_told(const refit::RefitResult& result, std::size_t preset, Body original, Body now);

/// How much was looked at.
struct RefitTally {
    std::size_t presets = 0, written = 0, better = 0, untouched = 0, remaining = 0, tried = 0;
};

/// What of this breaks, a line each; empty where nothing does:
/// - the verdict is at least as good as that of the original left alone, and is the one that the library tells;
/// - a preset that arrives as it was with the new stamp alone is not touched otherwise;
/// - nothing that sounds is displaced;
/// - where one parameter still differs, no other number at its place brings it nearer without harm elsewhere (of `most`
///   parameters with places of up to 8 bits, where the preset can mean and become one thing only).
[[nodiscard]] std::string broken_by(Pair& pair, const Shelf& shelf, const Refit& refit, int most, RefitTally& tally);

/// Refits the dump that holds these bodies, and looks at each.
[[nodiscard]] std::optional<Disagreement> look_at_refit(const Scene& scene, const std::vector<Bits>& bodies,
                                                        RefitTally& tally);

}  // namespace downfit::testing::second
