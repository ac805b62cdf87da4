// Bytes as readable text: inline in a test, or in a fixture file that ends in `.hex`.
//
//     F0 7D 06        # two hex digits a byte; a comment runs to the end of its line
//     "Glass Hall"    # ASCII text
//     00 *12          # the byte or text before it, twelve times in all
//     F7
//
// A fixture that is broken on purpose is named `bad-….hex`.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "base/bytes.h"

namespace downfit::testing {

/// The bytes that `text` describes. Throws std::invalid_argument, naming the line, for anything else.
[[nodiscard]] Bytes from_hex(std::string_view text);

/// The bytes that a file under tests/ describes. Throws, naming the file, where it cannot be read or makes no sense.
[[nodiscard]] Bytes read_hex(const std::filesystem::path& path_in_tests);

/// The bytes of ASCII text.
[[nodiscard]] Bytes ascii(std::string_view text);

/// Two upper-case digits a byte, spaces between.
[[nodiscard]] std::string to_hex(ByteView bytes);

}  // namespace downfit::testing
