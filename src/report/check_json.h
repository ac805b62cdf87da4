// `check` as JSON for programs: everything that is known, under names that stay. Described in docs/report.md and
// schemas/format/report.schema.json.
#pragma once

#include <string>

#include "report/check_report.h"

namespace downfit::report {

/// The version of the form of this report. It changes only when something in it changes its meaning or goes.
inline constexpr std::string_view check_format = "downfit check 1";

/// The whole report, indented, ASCII only (other characters are escaped), ended by a line break. Equal inputs give
/// equal bytes.
[[nodiscard]] std::string check_json(const CheckReport& report);

}  // namespace downfit::report
