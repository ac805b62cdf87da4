// Dump files: read, recognised, taken apart.
#pragma once

#include <string>
#include <vector>

#include "base/bytes.h"
#include "base/result.h"
#include "cli/schemas.h"
#include "dump/dump.h"

namespace downfit::cli {

struct Input {
    Bytes bytes;
    dump::Dump dump;
};

/// Reads the dumps that the paths stand for: files, archives, MIDI files, folders (files::gather), by the layout of
/// that name (empty: content decides). All must be dumps of one and the same device of `schemas`. Fails where any of
/// them cannot be used at all; damage in parts is in the dumps. Files found in a folder or archive that are no dumps
/// are left out and told in `notes`; one in it that breaks the grammar of JSON or XML is a dump without entries, with
/// that as its damage.
[[nodiscard]] Result<std::vector<Input>> read_inputs(const std::vector<std::string>& paths, const Schemas& schemas,
                                                     const std::string& layout, Problems& notes);

/// The first problem of a dump that is damage, not only a message of another device; nullptr without one.
[[nodiscard]] const Problem* first_damage(const dump::Dump& dump);

/// What the dump holds, each once in file order: "presets", "unit-settings", asset kinds.
[[nodiscard]] std::vector<std::string> kinds_in(const dump::Dump& dump);

}  // namespace downfit::cli
