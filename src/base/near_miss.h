// The nearest of a list of words: what somebody who misspelt one may have meant.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace downfit {

/// How many single-character edits (put in, left out, replaced, two neighbours swapped) make `a` of `b`. Counts bytes.
[[nodiscard]] std::size_t edit_distance(std::string_view a, std::string_view b);

/// The word nearest to `word`, the first of equally near ones; nothing where none is near enough to be meant: up to one
/// edit for each three characters, at least one. Letter case alone is always near enough.
[[nodiscard]] std::optional<std::string_view> nearest_word(std::string_view word,
                                                           std::span<const std::string_view> words);

/// `did you mean "range"?`, or an empty text where nothing is near.
[[nodiscard]] std::string did_you_mean(std::string_view word, std::span<const std::string_view> words);

}  // namespace downfit
