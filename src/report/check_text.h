// `check` as text for people: summary, table or matrix, details, closing.
#pragma once

#include <string>

#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// How much a text report tells.
enum class Extent {
    summary,  ///< only the summary, and what "intact" promises
    presets,  ///< also a line for each preset that is not intact, and the closing notes
    details   ///< also every finding of every preset
};

[[nodiscard]] std::string check_text(const CheckReport& report, Extent extent, const Style& style);

/// The same with another thing to do next, a command; empty for none.
[[nodiscard]] std::string check_text(const CheckReport& report, Extent extent, const Style& style,
                                     const std::string& next);

}  // namespace downfit::report
