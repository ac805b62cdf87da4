#include "support/paths.h"

namespace downfit::testing {

std::filesystem::path project_folder() {
    return DOWNFIT_PROJECT_FOLDER;
}

std::filesystem::path in_tests(const std::filesystem::path& path) {
    return project_folder() / "tests" / path;
}

std::filesystem::path downfit_program() {
    return DOWNFIT_PROGRAM;
}

}  // namespace downfit::testing
