// `true-to-device`: contradictions that are the maker's own, each with how the user knows. For the sources of schema/
// only.
#pragma once

#include <optional>
#include <string>

#include "base/problem.h"
#include "schema/faults.h"
#include "schema/node.h"

namespace downfit::schema {

/// Reports what is wrong with a `true-to-device`: it must be an object, faults that may be marked with a text each.
void check_marks(const Node& node, Problems& problems);

/// A mark: what the user wrote, and where.
struct Mark {
    std::string reason;
    TextPlace place;  ///< of the fault's name
};

/// The mark of a fault in a `true-to-device`, which may be null.
[[nodiscard]] std::optional<Mark> mark_in(const Node* marks, Fault fault);

}  // namespace downfit::schema
