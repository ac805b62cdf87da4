// Presets with every finding: what became of each parameter, where it stands, why, and what belongs together.
#pragma once

#include <string>

#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// Appends every preset of the report, worst first, with all its findings on all targets. Findings that make no
/// difference are counted by group and outcome; the JSON report has each of them.
void append_details(std::string& out, const CheckReport& report, const Style& style);

}  // namespace downfit::report
