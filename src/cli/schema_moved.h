// downfit schema moved: which bytes moved when one knob was turned.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_schema_moved(options::options_description_easy_init add);
[[nodiscard]] Exit run_schema_moved(const Call& call);

inline constexpr Command schema_moved_command{
    "schema moved",
    "schema moved BEFORE AFTER",
    "which bytes moved between two dumps, and what numbers they may be",
    "Compares two dumps that were saved before and after one knob was turned: the bytes and bits that\n"
    "moved, every number that they may be, and the parameter that has them. Checks, counters and\n"
    "lengths that move along are named and not counted. A device file alone is enough.\n"
    "\n"
    "  downfit schema moved before.syx after.syx",
    declare_schema_moved,
    run_schema_moved,
};

}  // namespace downfit::cli
