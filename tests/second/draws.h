// Random decisions drawn from a list of numbers that RapidCheck makes up and shrinks: zero is the simplest decision,
// and past the end of the list everything is zero.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

namespace downfit::testing::second {

class Draws {
public:
    explicit Draws(std::vector<std::uint32_t> numbers) : numbers_(std::move(numbers)) {}

    /// 0 to `count` - 1.
    std::int64_t below(std::int64_t count) {
        return count <= 1 ? next() * 0 : static_cast<std::int64_t>(next() % static_cast<std::uint32_t>(count));
    }
    std::int64_t between(std::int64_t least, std::int64_t most) { return least + below(most - least + 1); }
    /// True in so many of a hundred cases; false is simpler.
    bool chance(int percent) { return below(100) >= 100 - percent; }
    template <class T>
    T one_of(std::initializer_list<T> items) {
        return *(items.begin() + below(static_cast<std::int64_t>(items.size())));
    }
    template <class T>
    const T& one_of(const std::vector<T>& items) {
        return items[static_cast<std::size_t>(below(static_cast<std::int64_t>(items.size())))];
    }

private:
    std::uint32_t next() { return at_ < numbers_.size() ? numbers_[at_++] : 0; }

    std::vector<std::uint32_t> numbers_;
    std::size_t at_ = 0;
};

}  // namespace downfit::testing::second
