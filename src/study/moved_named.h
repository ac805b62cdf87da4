// What moved between two bodies by name (JSON, XML): values under their paths.
#pragma once

#include <cstddef>
#include <vector>

#include "schema/layout.h"
#include "study/moved.h"
#include "study/moved_parameters.h"

namespace downfit::study {

/// One of two bodies by name, and where its bytes stand in the file.
struct NamedSide {
    const Bytes& body;
    const std::vector<std::size_t>& origins;
};

/// Adds the values that moved, came or went; what is the layout's own goes to `aside`.
void compare_named(const schema::Layout& layout, const NamedSide& before, const NamedSide& after,
                   const MovedParameters& parameters, MovedEntry& entry);

}  // namespace downfit::study
