// The test framework, whichever of Catch2's two lines is installed. Every test file includes this and nothing
// of Catch2 itself.
//
// The same in both lines: TEST_CASE, SECTION, REQUIRE, CHECK, CHECK_THAT, CAPTURE, INFO, FAIL, GENERATE,
// Catch::StringMaker, and the names at the end of this file. Tag `[.long]` keeps a case for tests/long.
#pragma once

#if __has_include(<catch2/catch.hpp>)
#include <catch2/catch.hpp>
#else
#include <catch2/catch_all.hpp>
#endif

namespace downfit::testing {

#if defined(CATCH_VERSION_MAJOR) && CATCH_VERSION_MAJOR >= 3
using Catch::Approx;
using Catch::Matchers::ContainsSubstring;
#else
using ::Approx;
/// Matches a text that holds `part`.
inline auto ContainsSubstring(const std::string& part) {
    return Catch::Matchers::Contains(part);
}
#endif

}  // namespace downfit::testing
