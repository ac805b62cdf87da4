// Writing: a file is there whole, or not at all.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/problem.h"

namespace downfit::files {

/// What to do where the file is there already.
enum class Existing { keep, replace };

/// Writes `content` to a new file beside `path` and, once it is safely on disk, gives it that name. Nothing, or why it
/// could not be done; then whatever was at `path` before is there unchanged. Only a regular file is ever replaced.
[[nodiscard]] std::optional<Problem> write_file(const std::string& path, std::string_view content, Existing existing);

}  // namespace downfit::files
