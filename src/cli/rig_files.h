// A rig file with everything that it names, read: devices and dumps.
#pragma once

#include <list>
#include <string>
#include <vector>

#include "cli/inputs.h"
#include "cli/schemas.h"
#include "report/rig_report.h"
#include "schema/rig.h"

namespace downfit::cli {

/// Reads a rig file; its dumps are not looked at.
[[nodiscard]] Result<schema::Rig> read_rig_file(const std::string& path);

/// Where a dump of a rig lies: its file as seen from the rig file.
[[nodiscard]] std::string path_of(const schema::Rig& rig, const schema::RigDump& dump);

/// A rig as read. Not to be moved once `material` points into it.
struct RigFiles {
    schema::Rig rig;
    std::list<std::vector<Input>> inputs;  ///< at fixed addresses
    rig::Material material;
    std::vector<report::InputFile> files;  ///< as reports tell them
    Problems notes;                        ///< what was left out of folders and archives
};

/// Reads what `rig` names, and the dumps of the call, which every unit of their device holds. Problems of any of it,
/// empty where all could be used; damage inside dumps is in `files`.
[[nodiscard]] Problems read_rig_dumps(const Schemas& schemas, const std::vector<std::string>& everywhere,
                                      RigFiles& files);

}  // namespace downfit::cli
