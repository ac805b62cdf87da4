// Rows of the tests for what loading says about mistakes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "schema/load.h"

namespace downfit::testing {

/// A problem as expected. `place` is "FILE:LINE:COLUMN POINTER", or empty.
struct Expected {
    std::string place, what, expected, remedy;
};

/// The Siskin with `find` in `file` replaced by `put` (an empty `find`: the whole file), and every problem that this
/// makes.
struct Mistake {
    std::string_view name;
    std::string_view file;
    std::string_view find;
    std::string put;
    std::vector<Expected> problems;
};

/// Loads it, and checks that exactly these problems are told, in this order.
void check_mistake(const Mistake& mistake);
/// The same of another device's files.
void check_mistake(const std::vector<schema::SourceFile>& files, const Mistake& mistake);

}  // namespace downfit::testing
