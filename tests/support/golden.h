// Golden files: whole outputs kept under tests/ and compared byte by byte.
//
// UPDATE_GOLDEN=1 in the environment rewrites them instead; a review must then read the difference. Nothing is
// scrubbed before comparing: whoever makes the output passes in time, version, paths and width.
#pragma once

#include <filesystem>
#include <string_view>

namespace downfit::testing {

/// Checks, without ending the test case, that `actual` is what the file holds. A difference is told by its first line.
void check_golden(std::string_view actual, const std::filesystem::path& path_in_tests);

}  // namespace downfit::testing
