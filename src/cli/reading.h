// What a command that looks into dumps reads first: schema files, where its answer goes, and the dumps.
#pragma once

#include <string>
#include <vector>

#include "cli/command.h"
#include "cli/inputs.h"
#include "cli/output.h"
#include "cli/schemas.h"

namespace downfit::cli {

/// The inputs refer to devices of the schemas.
struct Reading {
    Schemas schemas;
    Output output;
    std::vector<Input> inputs;
};

/// The options `schemas`, `device` and `layout`.
void declare_reading(options::options_description_easy_init add);

/// Reads the dumps at `paths` by those options, and tells of schema files with faults and of files that were left out.
/// No output goes over a file that was read.
[[nodiscard]] Result<Reading> read_dumps(const Call& call, const std::vector<std::string>& paths);

}  // namespace downfit::cli
