// Schema folders: where they are, and the devices that they describe.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "base/result.h"
#include "cli/environment.h"
#include "schema/load.h"

namespace downfit::cli {

/// Devices that could be loaded, and what is wrong with the others. At least one of the two is not empty.
struct Schemas {
    std::string folder;                                    ///< where they were found
    std::vector<std::unique_ptr<schema::Device>> devices;  ///< at fixed addresses: dumps point at them
    std::vector<std::string> files;                        ///< all files that were read
    Problems problems;

    [[nodiscard]] std::vector<const schema::Device*> views() const;
};

/// Loads the devices in `folder` or, where that is empty, in the first of: $DOWNFIT_SCHEMAS, ./schemas, what is
/// installed beside the program. A folder that holds .json files is a device; otherwise the folders in it are, but for
/// `format`. With `device` only that one. Fails where there is no such folder, no device in it, or not the one asked
/// for.
[[nodiscard]] Result<Schemas> load_schemas(const std::string& folder, const std::string& device,
                                           const Environment& environment);

/// The folder in which load_schemas looks.
[[nodiscard]] Result<std::string> find_schema_folder(const std::string& asked, const Environment& environment);

/// The folders in `folder` that each hold one device: itself, or those in it but for `format`. With `device` only the
/// one of that name, where there is one.
[[nodiscard]] Result<std::vector<std::string>> device_folders(const std::string& folder, const std::string& device);

/// The .json files of a device's folder, by name. Those that cannot be read are problems.
[[nodiscard]] std::vector<schema::SourceFile> read_sources(const std::string& folder, Problems& problems);

}  // namespace downfit::cli
