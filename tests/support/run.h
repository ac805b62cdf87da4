// Runs the real program, as a user's shell would, but without a shell.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace downfit::testing {

/// What a run is given besides its arguments.
struct RunSettings {
    std::string input;                               ///< standard input
    std::map<std::string, std::string> environment;  ///< laid over that of the test
    std::filesystem::path folder;                    ///< to be started in; empty: that of the test
};

/// What came of it.
struct Ran {
    int status = 0;      ///< exit status; 128 + n if signal n ended it
    std::string output;  ///< standard output
    std::string errors;  ///< standard error
};

/// Runs any program and waits for it. Throws std::runtime_error if it cannot be started.
[[nodiscard]] Ran run_program(const std::filesystem::path& program, const std::vector<std::string>& arguments,
                              const RunSettings& settings = {});

/// Runs the `downfit` that was built with these tests.
[[nodiscard]] Ran run_downfit(const std::vector<std::string>& arguments, const RunSettings& settings = {});

}  // namespace downfit::testing
