// `downfit refit` on files of the demo.
#pragma once

#include <string>
#include <vector>

#include "support/paths.h"
#include "support/run.h"

namespace downfit::testing {

/// A dump of the demo.
inline std::string demo(const std::string& file) {
    return (project_folder() / "demo" / "dumps" / file).string();
}

/// Runs it with the project's schemas.
inline Ran run_refit(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "refit");
    arguments.insert(arguments.end(), {"--schemas", (project_folder() / "schemas").string()});
    return run_downfit(arguments);
}

/// Whether the words stand there, however the lines are broken.
inline bool says(const std::string& text, const std::string& words) {
    std::string plain;
    for (const char c : text) {
        const bool blank = c == ' ' || c == '\n';
        if (!blank || plain.empty() || plain.back() != ' ') plain += blank ? ' ' : c;
    }
    return plain.find(words) != std::string::npos;
}

}  // namespace downfit::testing
