// How much of the presets the schemas explain, as text with a map of bytes, and as JSON.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "report/layout.h"
#include "study/coverage.h"

namespace downfit::report {

struct CoverageFile {
    std::string file, digest;
    Problems problems;
};

struct CoverageReport {
    const schema::Device* device = nullptr;  ///< must outlive it
    std::string version;
    std::vector<CoverageFile> files;
    study::Coverage coverage;
};

[[nodiscard]] std::string coverage_text(const CoverageReport& report, const Style& style);

inline constexpr std::string_view coverage_format = "downfit schema coverage 1";
[[nodiscard]] std::string coverage_json(const CoverageReport& report);

/// How a place looks: its word in JSON, its symbol on the map, and what that means.
struct LookRow {
    study::Look look;
    std::string_view word;
    char symbol;
    std::string_view meaning;
    Tone tone;
};
[[nodiscard]] const LookRow& row_of(study::Look look);

}  // namespace downfit::report
