// Promises that several targets share: of problems, of texts, of what `check` tells.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "compat/check.h"
#include "report/check_report.h"

namespace downfit::fuzz {

/// There are any; each says what is wrong, can be told, and, where its place is one in a text, that text is one of
/// `files` and the place has a line and a column.
void look_at_problems(const Problems& problems, const std::vector<std::string>& files);

/// A text report is UTF-8 without anything that steers a terminal or turns a line.
void look_at_text(std::string_view text);

/// A JSON report is JSON in plain ASCII.
void look_at_json(const std::string& json);

/// The results of a preset fit each other, and findings point into a file of that size.
void look_at_preset(const compat::PresetCheck& preset, const compat::CheckOptions& options, std::size_t file_size);

/// A report on what a dump holds, without a policy.
[[nodiscard]] report::CheckReport report_on(const dump::Dump& dump, compat::DumpCheck check,
                                            const compat::CheckOptions& options);

/// Writes one report, which of three `choice` decides, and looks at it.
void look_at_report(const report::CheckReport& report, std::size_t choice);

}  // namespace downfit::fuzz
