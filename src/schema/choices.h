// The choices of a parameter: which number means which label.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace downfit::schema {

/// One choice. `meaning` is what it is across releases: the label it had when it first appeared (renames keep it).
struct Choice {
    std::int64_t number = 0;
    std::string label;
    std::string meaning;

    bool operator==(const Choice&) const = default;
};

/// Choices in rising order of number; numbers and labels are unique.
struct ChoiceList {
    std::vector<Choice> choices;

    /// The choice with that stored number, or nullptr.
    [[nodiscard]] const Choice* find(std::int64_t number) const;
    /// The choice with that label, or nullptr.
    [[nodiscard]] const Choice* find(std::string_view label) const;
    /// The choice whose number is nearest (the lower of two equally near); nullptr when there is none.
    [[nodiscard]] const Choice* nearest(std::int64_t number) const;

    bool operator==(const ChoiceList&) const = default;
};

}  // namespace downfit::schema
