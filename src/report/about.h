// What the words of the reports mean, from the catalogue in compat/outcome.h.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "report/layout.h"

namespace downfit::report {

/// Every word that can be asked for: outcomes, weights, verdicts, activities, slot states, cautions.
[[nodiscard]] std::vector<std::string_view> about_words();

/// What a word means (everything that carries that name), or nothing for an unknown one.
[[nodiscard]] std::optional<std::string> about_word(std::string_view word, const Style& style);

/// All words in short.
[[nodiscard]] std::string about_all(const Style& style);

}  // namespace downfit::report
