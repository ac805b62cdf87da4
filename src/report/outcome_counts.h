// How often each outcome came: for formats that do not list every finding.
#pragma once

#include <cstddef>
#include <vector>

#include "report/check_report.h"

namespace downfit::report {

/// One outcome that some finding has.
struct OutcomeCount {
    const compat::OutcomeRow* row = nullptr;  ///< never nullptr
    std::vector<std::size_t> on;              ///< findings on each of the report's targets, whatever they weigh
};

/// In the order of the outcomes; those that no finding has are left out.
[[nodiscard]] std::vector<OutcomeCount> outcome_counts(const CheckReport& report);

}  // namespace downfit::report
