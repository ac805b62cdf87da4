// Reading: whole files and standard input, as bytes.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "base/result.h"

namespace downfit::files {

/// All bytes of a file, or of standard input for "-". Fails, naming the file, where it is missing, a folder, cannot be
/// read, or is larger than limits::largest_file.
[[nodiscard]] Result<Bytes> read_file(const std::string& path);

/// The same as a text, unchanged.
[[nodiscard]] Result<std::string> read_text(const std::string& path);

/// Whether there is a folder, or anything at all, at that path.
[[nodiscard]] bool is_folder(const std::string& path);
[[nodiscard]] bool exists(const std::string& path);

/// Whether both paths lead to the same file; false where either is missing.
[[nodiscard]] bool is_same_file(const std::string& a, const std::string& b);

/// `name` inside `folder`.
[[nodiscard]] std::string join(const std::string& folder, const std::string& name);

/// The folder that a path lies in: "." where it says none.
[[nodiscard]] std::string folder_of(const std::string& path);

/// The last part of a path.
[[nodiscard]] std::string last_part(const std::string& path);

/// The paths of all files in a folder whose names end in ".json" (folders inside are not looked into), by name in byte
/// order.
[[nodiscard]] Result<std::vector<std::string>> json_files(const std::string& folder);

/// The paths of all folders in a folder, by name in byte order; hidden ones are left out.
[[nodiscard]] Result<std::vector<std::string>> folders(const std::string& folder);

}  // namespace downfit::files
