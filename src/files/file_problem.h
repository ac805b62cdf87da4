// Internal to files/: a problem that means a whole file.
#pragma once

#include <string>
#include <utility>

#include "base/problem.h"

namespace downfit::files {

/// `what` is wrong with the file `name`, or with what that path leads to.
[[nodiscard]] inline Problem file_problem(const std::string& name, std::string what, std::string remedy = {}) {
    return {name, std::move(what), {}, std::move(remedy)};
}

}  // namespace downfit::files
