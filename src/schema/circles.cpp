#include "schema/circles.h"

#include <algorithm>

namespace downfit::schema {

namespace {

/// What is left when everything that asks nothing (left) is taken away, again and again.
std::vector<bool> entangled(const std::vector<std::vector<std::size_t>>& asks) {
    std::vector<std::size_t> open(asks.size());
    std::vector<std::vector<std::size_t>> asked_by(asks.size());
    std::vector<std::size_t> free;
    for (std::size_t i = 0; i < asks.size(); ++i) {
        open[i] = asks[i].size();
        for (const std::size_t other : asks[i]) asked_by[other].push_back(i);
        if (open[i] == 0) free.push_back(i);
    }
    std::vector<bool> left(asks.size(), true);
    while (!free.empty()) {
        const std::size_t done = free.back();
        free.pop_back();
        left[done] = false;
        for (const std::size_t other : asked_by[done]) {
            if (--open[other] == 0) free.push_back(other);
        }
    }
    return left;
}

}  // namespace

std::vector<std::vector<std::size_t>> find_circles(const std::vector<std::vector<std::size_t>>& asks) {
    const std::vector<bool> left = entangled(asks);
    std::vector<std::vector<std::size_t>> circles;
    std::vector<std::size_t> walk_of(asks.size(), 0);  // which walk came by first; 0 for none
    for (std::size_t start = 0; start < asks.size(); ++start) {
        std::vector<std::size_t> path;
        std::size_t at = start;
        while (left[at] && walk_of[at] == 0) {
            walk_of[at] = start + 1;
            path.push_back(at);
            at = *std::ranges::find_if(asks[at], [&](std::size_t other) { return left[other]; });
        }
        if (path.empty() || walk_of[at] != start + 1) continue;
        std::vector<std::size_t> circle(std::ranges::find(path, at), path.end());
        std::rotate(circle.begin(), std::ranges::min_element(circle), circle.end());
        circles.push_back(std::move(circle));
    }
    return circles;
}

}  // namespace downfit::schema
