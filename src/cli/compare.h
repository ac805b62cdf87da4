// downfit compare: are two dumps the same sound, parameter by parameter.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_compare(options::options_description_easy_init add);
[[nodiscard]] Exit run_compare(const Call& call);

inline constexpr Command compare_command{
    "compare",
    "compare A B",
    "are two dumps the same sound; has a unit loaded what was sent",
    "Holds every preset of B against its partner in A, parameter by parameter, whatever format each is in,\n"
    "and tells what differs and whether anyone would hear it. A and B are dumps, archives or folders.\n"
    "\n"
    "After a restore, B is what was read back out of the unit. Say what it is:\n"
    "  --read-back stored   a dump of the unit's memory: proves only that the bytes arrived\n"
    "  --read-back loaded   dumps of what plays, each made after its preset was called up: proves how the\n"
    "                       unit loads. Each is held against what was predicted for A, and where the unit\n"
    "                       does otherwise, the loading rule at fault is named, and what to write instead\n"
    "\n"
    "  downfit compare before.syx after.syx                        the same sound?\n"
    "  downfit compare sent.syx back.syx --read-back stored        did everything arrive?\n"
    "  downfit compare sent.syx played.syx --read-back loaded      does the unit load as predicted?",
    declare_compare,
    run_compare,
};

}  // namespace downfit::cli
