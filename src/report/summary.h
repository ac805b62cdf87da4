// The first lines of a text report: all that somebody needs who reads no further.
#pragma once

#include <string>

#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// Appends the summary: what was asked, how many presets stand how, cautions, the worst preset, what else would help,
/// what to do next. Of one whole dump at most twelve lines where the width is 80 or more and no name is
/// very long; damaged files, closed ways back and several targets may take a few more.
void append_summary(std::string& out, const CheckReport& report, const Style& style);

/// The same without what to do next.
void append_results(std::string& out, const CheckReport& report, const Style& style);

/// A word for a POSIX shell: as it is, or in single quotes.
[[nodiscard]] std::string shell_word(const std::string& word);

/// The command that shows everything about one preset on one target; empty for one from standard input.
[[nodiscard]] std::string detail_command(const CheckReport& report, const PresetReport& preset, std::size_t target);

}  // namespace downfit::report
