// What the program is run in, passed in so that tests can choose it.
#pragma once

#include <cstddef>
#include <map>
#include <string>

namespace downfit::cli {

struct Environment {
    std::map<std::string, std::string> variables;  ///< those that are looked at: DOWNFIT_SCHEMAS, NO_COLOR, TERM
    bool output_is_terminal = false;
    std::size_t terminal_width = 0;  ///< 0: not known
    std::size_t error_width = 0;     ///< of the terminal that standard error is; 0: it is none
    std::string today;               ///< YYYY-MM-DD, where the program runs; empty: not known
    std::string program_folder;      ///< where the program itself lies; empty: not known

    /// A variable's value; empty where it is not set.
    [[nodiscard]] std::string variable(const std::string& name) const {
        const auto at = variables.find(name);
        return at == variables.end() ? std::string() : at->second;
    }
};

}  // namespace downfit::cli
