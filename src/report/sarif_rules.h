// The rules of the SARIF report: every outcome, what a preset as a whole may be, and the cautions, with help.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "compat/outcome.h"
#include "report/json.h"

namespace downfit::report {

/// `reportingDescriptor`s for `tool.driver.rules`, in an order that stays. At most 20.
[[nodiscard]] Json sarif_rules();

/// The index among them of "swapped", "refused", "damaged", "louder", ….
[[nodiscard]] std::size_t sarif_rule(std::string_view id);

/// `level` of a result that weighs so: "error" for severe, "warning", "note", and "none".
[[nodiscard]] std::string_view sarif_level(compat::Weight weight);

/// A text as SARIF's message strings want it: printable, braces doubled (they would be placeholders), and no link made
/// by "](". Sections 3.11.5 and 3.11.6 of SARIF 2.1.0, from memory.
[[nodiscard]] std::string sarif_text(std::string_view text);

}  // namespace downfit::report
