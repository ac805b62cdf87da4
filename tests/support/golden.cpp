#include "support/golden.h"

#include <algorithm>
#include <cstddef>
#include <cstdlib>
#include <string>

#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

/// The line of `text` that holds the byte at `at`.
std::string_view line_around(std::string_view text, std::size_t at) {
    if (at >= text.size()) return "(end of text)";
    const std::size_t before = at == 0 ? std::string_view::npos : text.rfind('\n', at - 1);
    const std::size_t start = before == std::string_view::npos ? 0 : before + 1;
    return text.substr(start, text.find('\n', at) - start);
}

}  // namespace

void check_golden(std::string_view actual, const std::filesystem::path& path_in_tests) {
    const std::filesystem::path path = in_tests(path_in_tests);
    const char* update = std::getenv("UPDATE_GOLDEN");
    if (update != nullptr && std::string_view(update) == "1") {
        write_text(path, actual);
        SUCCEED("rewritten");
        return;
    }
    if (!std::filesystem::exists(path)) {
        FAIL_CHECK(path_in_tests.string() << " does not exist; UPDATE_GOLDEN=1 writes it");
        return;
    }
    const std::string expected = read_text(path);
    if (actual == expected) {
        SUCCEED();
        return;
    }
    const auto difference = std::mismatch(actual.begin(), actual.end(), expected.begin(), expected.end());
    const auto at = static_cast<std::size_t>(difference.first - actual.begin());
    const auto line = 1 + std::count(actual.begin(), difference.first, '\n');
    FAIL_CHECK(path_in_tests.string() << ":" << line << " differs\n  expected: " << line_around(expected, at)
                                      << "\n  actual:   " << line_around(actual, at)
                                      << "\nUPDATE_GOLDEN=1 rewrites it");
}

}  // namespace downfit::testing
