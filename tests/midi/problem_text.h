// A failed Result on one line, so that a test compares the whole of it.
#pragma once

#include <string>
#include <variant>

#include "base/result.h"

namespace downfit::testing {

/// "offset+length: what [expected]", or "what [expected]" without a place; "ok" where there is a value.
template <class T>
std::string problem_text(const Result<T>& result) {
    if (result) return "ok";
    const Problem& problem = result.problems().front();
    std::string out;
    if (const auto* place = std::get_if<BytePlace>(&problem.place)) {
        out = std::to_string(place->offset) + "+" + std::to_string(place->length) + ": ";
    }
    return out + problem.what + " [" + problem.expected + "]";
}

}  // namespace downfit::testing
