// Result<T>: a value, or the reasons why there is none.
//
// The first of two channels: a Result says "cannot go on". What was seen on the way without stopping
// goes to a list of Problems that the caller passes in.
#pragma once

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "base/problem.h"

namespace downfit {

/// Holds either a T or at least one Problem. Exceptions of libraries never pass through here: the wrapper
/// that calls the library turns them into Problems.
template <class T>
class [[nodiscard]] Result {
public:
    Result(T value) : state_(std::move(value)) {}
    Result(Problem problem) : state_(Problems{std::move(problem)}) {}
    /// `problems` must not be empty.
    Result(Problems problems) : state_(std::move(problems)) {}

    [[nodiscard]] bool ok() const { return std::holds_alternative<T>(state_); }
    explicit operator bool() const { return ok(); }

    /// The value; only when ok().
    [[nodiscard]] T& value() & { return std::get<T>(state_); }
    [[nodiscard]] const T& value() const& { return std::get<T>(state_); }
    [[nodiscard]] T&& value() && { return std::get<T>(std::move(state_)); }

    /// The reasons; only when not ok().
    [[nodiscard]] const Problems& problems() const { return std::get<Problems>(state_); }

private:
    std::variant<T, Problems> state_;
};

}  // namespace downfit
