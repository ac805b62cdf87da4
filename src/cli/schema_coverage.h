// downfit schema coverage: how much of the presets the schemas explain.
#pragma once

#include "cli/command.h"

namespace downfit::cli {

void declare_schema_coverage(options::options_description_easy_init add);
[[nodiscard]] Exit run_schema_coverage(const Call& call);

inline constexpr Command schema_coverage_command{
    "schema coverage",
    "schema coverage DUMP...",
    "how much of the presets' bytes the schemas explain",
    "Reads every preset by the schema of the release that saved it and draws which bytes a parameter\n"
    "explains and which it does not, and which of these differ between presets: they mean something.\n"
    "Then what is outside the ranges that the release files state, and parameters that never move.\n"
    "\n"
    "  downfit schema coverage bank.syx settings.syx",
    declare_schema_coverage,
    run_schema_coverage,
};

}  // namespace downfit::cli
