// The whole program as a function: what main calls, and what tests call.
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

#include "cli/environment.h"

namespace downfit::cli {

/// Runs one command. `arguments` come without the program's name. Reports go to `out`, problems to `err`. Returns the
/// exit status. Never throws: an exception inside is told and ends in Exit::failed.
[[nodiscard]] int run(const std::vector<std::string>& arguments, std::ostream& out, std::ostream& err,
                      const Environment& environment);

}  // namespace downfit::cli
