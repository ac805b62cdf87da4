// Which bytes moved between two dumps, as text and as JSON.
#pragma once

#include <string>
#include <string_view>

#include "report/coverage.h"
#include "study/moved.h"

namespace downfit::report {

struct MovedReport {
    const schema::Device* device = nullptr;  ///< must outlive it
    std::string version;
    CoverageFile before, after;
    study::Moved moved;
};

[[nodiscard]] std::string moved_text(const MovedReport& report, const Style& style);

inline constexpr std::string_view moved_format = "downfit schema moved 1";
[[nodiscard]] std::string moved_json(const MovedReport& report);

}  // namespace downfit::report
