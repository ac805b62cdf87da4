// Whole files in and out, for tests. Failing to is an exception, which fails the test.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "base/bytes.h"

namespace downfit::testing {

/// All of a file, unchanged. Throws std::runtime_error, naming it, if it cannot be read.
[[nodiscard]] std::string read_text(const std::filesystem::path& path);
[[nodiscard]] Bytes read_bytes(const std::filesystem::path& path);

/// Replaces a file; makes its folders. Throws std::runtime_error, naming it, if it cannot be written.
void write_text(const std::filesystem::path& path, std::string_view text);
void write_bytes(const std::filesystem::path& path, ByteView bytes);

}  // namespace downfit::testing
