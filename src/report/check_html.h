// The report on `check` as one HTML file: counts, slots by verdict, presets by releases, and every difference that is
// heard with a picture of its ranges.
#pragma once

#include <string>

#include "report/check_report.h"

namespace downfit::report {

/// Self-contained, loads nothing, readable without its script; with it, presets can be filtered and sorted. Differences
/// without weight are counted only: the other formats have them.
[[nodiscard]] std::string check_html(const CheckReport& report);

}  // namespace downfit::report
