// downfit check: which presets would lose or change what on another release.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_check(options::options_description_easy_init add);
[[nodiscard]] Exit run_check(const Call& call);

inline constexpr Command check_command{
    "check",
    "check DUMP... --on RELEASE[,RELEASE...]|all",
    "which presets would lose or change what on another release",
    "Loads every preset of the dumps on another release, on paper, and tells what would not arrive as\n"
    "saved and whether anyone would hear it. DUMP is a file of System Exclusive, JSON or XML, a MIDI\n"
    "file, a gzip file, a zip archive or a folder of them, or - for standard input.\n"
    "A dump of impulse response names (or another asset kind) among them tells which slots are filled.\n"
    "\n"
    "  downfit check bank.syx --on 2.10              what one release would do\n"
    "  downfit check bank.syx --on all               how far back each preset may go\n"
    "  downfit check bank.syx --on 2.10 --slot 12    everything about one preset",
    declare_check,
    run_check,
};

}  // namespace downfit::cli
