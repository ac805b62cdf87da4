// What must hold for every dump that is refitted, whatever device it is of.
#pragma once

#include <string>
#include <vector>

#include "refit/refit.h"

namespace downfit::testing {

/// How much was looked at, so that a test can see that it was something.
struct RefitTally {
    std::size_t presets = 0, written = 0, with_values = 0, left = 0, better = 0, unchanged = 0;
};

/// Refits a dump for one release and returns what breaks a law, a line each:
/// - no preset is worse off than left alone, and none that was well off is touched but for its stamp;
/// - what is written has T's stamp, and T itself takes every number in it as it stands;
/// - nothing that sounds is displaced, and what is clamped, swapped or out of range has no nearer place on T, but where
///   the preset would be worse off with it and the result says so;
/// - refitting again changes no byte;
/// - what belongs to no preset stands in the file as before.
[[nodiscard]] std::vector<std::string> broken_laws(const dump::Dump& dump, const Bytes& bytes,
                                                   const refit::RefitOptions& options, RefitTally& tally);

/// The options to refit for one release, by its order.
[[nodiscard]] refit::RefitOptions refit_options(std::size_t target);

}  // namespace downfit::testing
