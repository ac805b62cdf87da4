// `check` as Markdown, for comments on changes, wikis and notes: the summary, presets and outcomes in tables.
#pragma once

#include <string>

#include "report/check_report.h"
#include "report/check_text.h"

namespace downfit::report {

/// The report in GitHub's flavour of Markdown (tables). With Extent::details every finding of every preset; with
/// Extent::summary only the first part.
[[nodiscard]] std::string check_markdown(const CheckReport& report, Extent extent);

}  // namespace downfit::report
