// All that a check says beside its findings' outcomes, in a few words a line: for the `told` sections of case files.
#pragma once

#include <string>

#include "compat/check.h"

namespace downfit::testing {

/// A target check, line by line; what is empty is left out.
///     saved on RELEASE (stamped later), N parameters
///     PARAMETER (there NAME): RULE; STORED at BYTE (OFFSET) -> STORED at BYTE (OFFSET); OVERFLOW; brought by RELEASE;
///         with CAUSE
///     … if ASSUMPTION: OUTCOME WEIGHT          of an unsure finding, for each alternative
///     cause KIND WHAT: WEIGHT, N findings
///     doubt PARAMETER STORED: WHY
///     unsettled RULE, RULE
///     repaired WHY
[[nodiscard]] std::string told_text(const schema::Device& device, const compat::TargetCheck& check);

}  // namespace downfit::testing
