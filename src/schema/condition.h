// Conditions (`when`), as written: who may evaluate them decides what a name refers to.
#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "base/bytes.h"

namespace downfit::schema {

/// A setting as users write it: a number (a value, not a stored number), or a label. Of a switch always a number: 1 is
/// on, 0 is off, whatever number is stored for them.
using Setting = std::variant<double, std::string>;

/// and / or / not over comparisons. A value type: copies are deep.
struct Condition {
    enum class Kind : std::uint8_t { all, any, negation, comparison };
    enum class Subject : std::uint8_t { parameter, stamp, fact, bytes, version };
    enum class Operator : std::uint8_t { is, at_least, at_most, above, below };

    Kind kind = Kind::all;
    std::vector<Condition> parts;  ///< of all and any: any number; of negation: one; of comparison: none

    Subject subject = Subject::parameter;  ///< of a comparison, like all that follows
    std::string name;                      ///< parameter id (with or without brackets) or fact; empty for stamp
    Operator op = Operator::is;
    std::vector<Setting> settings;  ///< any of them for `is`; one otherwise (a release name for stamp)
    std::int64_t at = 0;            ///< of bytes: place in the body
    Bytes bytes;                    ///< of bytes: what must stand there

    bool operator==(const Condition&) const = default;
};

}  // namespace downfit::schema
