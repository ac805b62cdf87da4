// `downfit schema export`: release files as a table.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_schema_export(options::options_description_easy_init add);
Exit run_schema_export(const Call& call);

inline constexpr Command schema_export_command{
    "schema export",
    "schema export RELEASE... --out TABLE.csv",
    "a release file as a table, for a spreadsheet",
    "Writes what release files say as a table (CSV), one line for each parameter, group, choice list and other\n"
    "key: for editing in a spreadsheet, and back with `schema import`. RELEASE is a release file, or the name of a\n"
    "release in the schema files. What is inherited is not in the table, nor are comments. docs/formats.md\n"
    "describes the columns.",
    declare_schema_export,
    run_schema_export};

}  // namespace downfit::cli
