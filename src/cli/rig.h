// downfit rig: which unit plays which song as saved, and which moves would help.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_rig(options::options_description_easy_init add);
[[nodiscard]] Exit run_rig(const Call& call);

inline constexpr Command rig_command{
    "rig",
    "rig RIG [DUMP...]",
    "which unit plays which song as saved; which single upgrade helps most",
    "Loads every preset of a set list on every unit of a rig, on paper, and tells which unit plays which\n"
    "song as saved, what stands in the way, what units still need, and which moves to another release\n"
    "would help. RIG is a rig file (docs/formats.md); DUMP is what every unit holds besides, such as\n"
    "impulse response names.\n"
    "\n"
    "  downfit rig tour.json               the whole rig\n"
    "  downfit rig tour.json --summary     who plays what, and the best next step",
    declare_rig,
    run_rig,
};

}  // namespace downfit::cli
