// `downfit schema import`: a release file from a table.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_schema_import(options::options_description_easy_init add);
Exit run_schema_import(const Call& call);

inline constexpr Command schema_import_command{
    "schema import",
    "schema import TABLE.csv --out RELEASE.json",
    "a release file from a table of parameters",
    "Makes a release file from a table (CSV): one that `schema export` wrote, or parameters copied out of a\n"
    "manual, with names, places, ranges, units, defaults and choices. --column says which of the table's columns\n"
    "is which. The release is loaded with the device's other files where they lie beside it; nothing is written\n"
    "unless all of it is right. docs/formats.md describes the columns.",
    declare_schema_import,
    run_schema_import};

}  // namespace downfit::cli
