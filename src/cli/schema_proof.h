// `downfit schema proof`: what is wrong, or looks wrong, with schema files.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_schema_proof(options::options_description_easy_init add);
[[nodiscard]] Exit run_schema_proof(const Call& call);

inline constexpr Command schema_proof_command{
    "schema proof",
    "schema proof [FILE|FOLDER...] [--with DUMP ...]",
    "what is wrong, or looks wrong, with schema files",
    "Reads the schema files of each device (if none is named: all that check would use) and tells all at\n"
    "once what is wrong with them: errors that keep them from being read, and what contradicts itself:\n"
    "overlaps, ranges beyond what is stored, defaults outside their range, steps that do not divide, rules\n"
    "that nobody states ... each with file, line and place, why it matters and how to mend it. A\n"
    "contradiction that is the maker's own is marked in the file, under \"true-to-device\". A FILE stands for\n"
    "its whole folder, of which only what concerns that file is told.\n\n"
    "Exit status: 2 an error, 1 problems that are not marked, 0 clean.",
    declare_schema_proof,
    run_schema_proof,
};

}  // namespace downfit::cli
