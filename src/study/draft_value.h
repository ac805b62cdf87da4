// Drafting what stands at one place of dumps by name: a switch, a choice, a number or a text.
//
// Internal to study/.
#pragma once

#include <optional>
#include <vector>

#include "dump/named_values.h"
#include "schema/named.h"
#include "study/draft.h"

namespace downfit::study {

/// Values of one place, in any order; null is none.
using PlaceValues = std::vector<const dump::NamedNode*>;

/// A parameter without id and path that reads every one of the values, or nothing where no kind of parameter does (a
/// fraction here, a word there), or where there are none.
[[nodiscard]] std::optional<DraftParameter> draft_value(schema::Notation notation, const PlaceValues& values);

/// Whether there is no value: null.
[[nodiscard]] bool is_nothing(schema::Notation notation, const dump::NamedNode& node);

}  // namespace downfit::study
