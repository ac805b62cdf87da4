// Where things are. The build says so: nothing depends on the folder that a test is started in.
#pragma once

#include <filesystem>

namespace downfit::testing {

/// The top folder of the project.
[[nodiscard]] std::filesystem::path project_folder();

/// A file or folder under tests/.
[[nodiscard]] std::filesystem::path in_tests(const std::filesystem::path& path);

/// The program that was built with these tests; the environment variable DOWNFIT_PROGRAM names another.
[[nodiscard]] std::filesystem::path downfit_program();

}  // namespace downfit::testing
