// Exit statuses, named. Their precedence where several apply: bad_input, not_within, undecided.
#pragma once

namespace downfit::cli {

enum class Exit : int {
    within = 0,      ///< everything asked is within policy
    not_within = 1,  ///< something is not within policy: without one, changes audibly or is refused
    bad_input = 2,   ///< the call or an input is wrong or damaged
    undecided = 3,   ///< something could not be decided
    failed = 70,     ///< a failure of the tool itself, never to be taken for "fits"
};

}  // namespace downfit::cli
