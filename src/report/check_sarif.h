// `check` as SARIF 2.1.0, for code scanning pages and editors: one result for each finding.
#pragma once

#include <cstddef>
#include <string>

#include "report/check_report.h"

namespace downfit::report {

/// What consumers take in one run: 25,000 results (the limit of the largest of them, from memory).
inline constexpr std::size_t most_sarif_results = 25'000;

/// A log with one run. Findings that weigh something are results, and so are presets that are refused, undecided or
/// damaged, and cautions. Results point at the preset's bytes in the dump, with the line of the schema file that
/// explains them as related location. Beyond `most` results those told last are left out, and a notification says how
/// many; the tallies in the run's `properties` count all. No times: equal inputs give equal bytes.
[[nodiscard]] std::string check_sarif(const CheckReport& report, std::size_t most = most_sarif_results);

/// A path as a URI reference (RFC 3986): relative as it is, absolute with "file://".
[[nodiscard]] std::string file_uri(const std::string& path);

}  // namespace downfit::report
