// Presets in a table: one release with reasons, or several as a matrix of letters.
#pragma once

#include <string>

#include "report/check_report.h"
#include "report/layout.h"
#include "report/standing.h"

namespace downfit::report {

/// Appends, for every file with presets: one line for each preset on the only target, worst first; intact ones as slot
/// numbers.
void append_table(std::string& out, const CheckReport& report, const Style& style);

/// Appends, for every file with presets: presets by releases, one letter each, worst first; and what the letters mean.
void append_matrix(std::string& out, const CheckReport& report, const Style& style);

/// The colour of a standing, of a weight.
[[nodiscard]] Tone tone_of(Standing standing);
[[nodiscard]] Tone tone_of(compat::Weight weight);

/// "bank-a.syx: 60 presets, 4 empty slots": the heading of a file.
[[nodiscard]] std::string file_heading(const CheckReport& report, std::size_t file);

}  // namespace downfit::report
