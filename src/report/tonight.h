// Tonight's presets in a report on `check`: those that the songs of a rig file need, in playing order.
#pragma once

#include <string>

#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// One sentence for the summary. Like the others, nothing without `--songs`.
void append_tonight_summary(std::string& out, const CheckReport& report, const Style& style);

/// The section that stands before all other presets.
void append_tonight_text(std::string& out, const CheckReport& report, const Style& style);
void append_tonight_markdown(std::string& out, const CheckReport& report);
void append_tonight_html(std::string& out, const CheckReport& report);

}  // namespace downfit::report
