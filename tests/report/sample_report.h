// A small check result made by hand: one preset of every standing, hostile names, and one of everything that reports
// tell.
#pragma once

#include "report/check_report.h"

namespace downfit::report {

/// A device with three releases and no schemas.
[[nodiscard]] const schema::Device& sample_device();

/// On 2.10 alone.
[[nodiscard]] CheckReport sample_report();

/// Presets and a file whose names try to be something else: formulas, markup, links, mentions, cells, control codes.
[[nodiscard]] CheckReport sample_hostile_report();

/// On all three releases, with floors.
[[nodiscard]] CheckReport sample_report_on_all();

}  // namespace downfit::report
