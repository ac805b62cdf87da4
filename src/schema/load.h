// Loading schema files: text in, a whole Device out, or every reason why not.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "schema/device.h"

namespace downfit::schema {

/// A schema file as read by files/: its name (for errors) and its text.
struct SourceFile {
    std::string name;
    std::string text;
};

/// Loads one device: exactly one device file and any number of its release files (recognised by their `format`). All
/// releases load together or none does: on failure every problem found is returned, each with file, line, column, JSON
/// Pointer, what was expected and, for a misspelt word, what may have been meant. Never throws; reads no files itself.
/// Release files that a device's list does not name, `extends` in circles or to a missing file, two files for one
/// release, two framings' worth of contradictions: all problems. Limits: 64 levels of nesting, 100,000 parameter
/// instances a release, 16,384 choices a list, 500,000 keys and values and 16 MiB a file. What it lets through is then
/// judged by the JSON Schemas of schemas/format/ as well (format_check.h).
[[nodiscard]] Result<Device> load_device(const std::vector<SourceFile>& files);

}  // namespace downfit::schema
