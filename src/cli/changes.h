// `downfit changes`: what changed between two releases, and what it does to presets either way.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_changes(options::options_description_easy_init add);
[[nodiscard]] Exit run_changes(const Call& call);

inline constexpr Command changes_command{
    "changes",
    "changes OLD NEW [--with DUMP ...]",
    "what changed between two releases, and what it does to presets",
    "Compares the schema files of two releases of a device and tells everything that changed, grouped by what\n"
    "it does to presets that go back (NEW to OLD) and forward, worst first, and which release brought it.\n"
    "Renames are recognised where the files declare them, and suggested where something gone and something\n"
    "new stand in one place. With dumps: how many of their presets each change touches, the same numbers\n"
    "as those of check.\n\n"
    "Exit status: 0; 2 where the call or an input is wrong or damaged.",
    declare_changes,
    run_changes,
};

}  // namespace downfit::cli
