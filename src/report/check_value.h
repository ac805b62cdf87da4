// The JSON report of `check` as a value, for reports that hold one. For the sources of report/ only.
#pragma once

#include "report/check_report.h"
#include "report/json.h"

namespace downfit::report {

[[nodiscard]] Json check_value(const CheckReport& report);

}  // namespace downfit::report
