#include "base/near_miss.h"

#include <algorithm>
#include <numeric>
#include <utility>
#include <vector>

namespace downfit {

namespace {

constexpr std::size_t longest_compared = 200;

char lower(char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool equal_but_for_case(std::string_view a, std::string_view b) {
    return std::ranges::equal(a, b, {}, lower, lower);
}

}  // namespace

std::size_t edit_distance(std::string_view a, std::string_view b) {
    std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
    std::iota(last.begin(), last.end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t replaced = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            row[j] = std::min({last[j] + 1, row[j - 1] + 1, replaced});
            const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
            if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
        }
        std::swap(before, last);
        std::swap(last, row);
    }
    return last[b.size()];
}

std::optional<std::string_view> nearest_word(std::string_view word, std::span<const std::string_view> words) {
    if (word.size() > longest_compared) return std::nullopt;
    const std::size_t limit = std::max<std::size_t>(1, word.size() / 3);
    std::optional<std::string_view> best;
    std::size_t best_distance = limit + 1;
    for (const std::string_view candidate : words) {
        const std::size_t longer = std::max(word.size(), candidate.size());
        if (equal_but_for_case(word, candidate)) return candidate;
        if (longer - std::min(word.size(), candidate.size()) >= best_distance) continue;
        const std::size_t distance = edit_distance(word, candidate);
        if (distance >= best_distance || distance >= longer) continue;
        best = candidate;
        best_distance = distance;
    }
    return best;
}

std::string did_you_mean(std::string_view word, std::span<const std::string_view> words) {
    const auto near = nearest_word(word, words);
    if (!near) return {};
    return "did you mean \"" + std::string(*near) + "\"?";
}

}  // namespace downfit
