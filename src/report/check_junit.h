// `check` as JUnit XML, for the test pages of build servers: one case for each preset and release.
#pragma once

#include <string>

#include "report/check_report.h"

namespace downfit::report {

/// A suite for each file with presets and release; in it a case for each preset, whose `status` is the verdict. Altered
/// and refused ones have a failure, undecided and damaged ones an error. What is damaged in a file and belongs to no
/// preset is an error of a case of its own. No times: equal inputs give equal bytes.
[[nodiscard]] std::string check_junit(const CheckReport& report);

}  // namespace downfit::report
