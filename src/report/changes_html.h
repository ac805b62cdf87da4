// `changes` as a page.
#pragma once

#include <string>

#include "report/changes_report.h"

namespace downfit::report {

/// One self-contained page (report/page.h): what each change does to presets that go back, and to those that go
/// forward, worst first; with dumps how many of their presets, and which.
[[nodiscard]] std::string changes_html(const ChangesReport& report);

}  // namespace downfit::report
