// Rows of the test of changes: one change of a small device each.
#pragma once

#include <string>
#include <vector>

namespace downfit::testing {

/// What the second release writes behind `"extends"`, of the device whose bodies are records (`tagged`) or of the other
/// one; and the changes that it makes, one in each line.
struct ChangeRow {
    std::string name;
    bool tagged = false;
    std::string second;
    std::string lines;
};

[[nodiscard]] const std::vector<ChangeRow>& change_rows();

}  // namespace downfit::testing
