// downfit schema draft: a first release file from dumps.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_schema_draft(options::options_description_easy_init add);
[[nodiscard]] Exit run_schema_draft(const Call& call);

inline constexpr Command schema_draft_command{
    "schema draft",
    "schema draft --device DEVICE.json DUMP... --out RELEASE.json",
    "a first release file, drafted from a device file and dumps",
    "Looks at all presets that one release saved: which bytes differ between them, or in JSON and XML\n"
    "dumps which values, and what they may be (a switch, a small choice, a number, a text). It writes a\n"
    "release file in which every parameter is marked as observed: names, units, and what a range really\n"
    "is, are yours to say.\n"
    "\n"
    "  downfit schema draft --device schemas/wren/device.json bank.syx --out schemas/wren/1.0.json",
    declare_schema_draft,
    run_schema_draft,
};

}  // namespace downfit::cli
