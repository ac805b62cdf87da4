// `check` as a table for spreadsheets: one line for each finding. Described in docs/report.md.
#pragma once

#include <array>
#include <string>
#include <string_view>

#include "report/check_report.h"

namespace downfit::report {

/// The columns, in order. Their names and meanings stay; new ones come at the end.
inline constexpr std::array<std::string_view, 33> csv_columns{
    "file",          "slot",         "entry",         "name",
    "state",         "stamp",        "saved-on",      "release",
    "verdict",       "best-verdict", "worst-verdict", "reason",
    "cautions",      "parameters",   "parameter",     "parameter-there",
    "outcome",       "silent",       "weight",        "best-weight",
    "activity",      "saved-stored", "saved-value",   "saved-offset",
    "loaded-stored", "loaded-value", "loaded-offset", "saved-overflow",
    "rule",          "alternatives", "brought-by",    "cause",
    "fingerprint"};

/// RFC 4180 in UTF-8: a line with the names of the columns, then one for each finding; of a preset on a release without
/// findings one with the cells of the finding empty. No cell can be taken for a formula: a text that looks like one
/// has an apostrophe put before it, and so has one that begins with an apostrophe.
[[nodiscard]] std::string check_csv(const CheckReport& report);

}  // namespace downfit::report
