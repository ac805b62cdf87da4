// `check` as text for people: summary, table or matrix, details, closing.
#pragma once

#include <string>

#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// The whole report. `detail` also tells every finding of every preset.
[[nodiscard]] std::string check_text(const CheckReport& report, bool detail, const Style& style);

}  // namespace downfit::report
