// downfit contents: what is in a dump.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_contents(options::options_description_easy_init add);
[[nodiscard]] Exit run_contents(const Call& call);

inline constexpr Command contents_command{
    "contents",
    "contents DUMP...",
    "what is in a dump: slots, names, and every parameter of a preset",
    "Lists the slots of a dump with names and the releases that saved them. With --slot or --name it\n"
    "shows every parameter of those presets (--every: of all); blocks that are off are folded unless\n"
    "--all is given.\n"
    "\n"
    "  downfit contents bank.syx             the list\n"
    "  downfit contents bank.syx --slot 12   everything in slot 12",
    declare_contents,
    run_contents,
};

}  // namespace downfit::cli
