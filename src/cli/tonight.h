// Tonight's presets among those that a check looked at: `check --songs RIG`.
#pragma once

#include "report/check_report.h"
#include "schema/rig.h"

namespace downfit::cli {

/// Finds the presets that the rig's songs need among the report's, by file name, slot and name, and puts them in. Of a
/// file that was given whole, a preset that is not there is a problem; `filtered` ones and those of other files are
/// told as not looked at.
[[nodiscard]] Problems find_tonight(const schema::Rig& rig, report::CheckReport& report);

}  // namespace downfit::cli
