#include "support/paths.h"

#include <cstdlib>

namespace downfit::testing {

std::filesystem::path project_folder() {
    return DOWNFIT_PROJECT_FOLDER;
}

std::filesystem::path in_tests(const std::filesystem::path& path) {
    return project_folder() / "tests" / path;
}

std::filesystem::path downfit_program() {
    const char* other = std::getenv("DOWNFIT_PROGRAM");
    return other != nullptr ? other : DOWNFIT_PROGRAM;
}

}  // namespace downfit::testing
