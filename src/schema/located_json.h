// JSON text in, a document with places out. For the sources of schema/ only.
#pragma once

#include <string>

#include "base/problem.h"
#include "schema/node.h"

namespace downfit::schema {

/// The document in `text`: JSON (RFC 8259) with comments, in UTF-8. Null if it has no document; then `problems` got the
/// reason. A key that an object has twice is a problem too, but the document (with the first value) is still given, so
/// that the rest can be looked at. Limits: 64 levels, 500,000 keys and values. Never throws.
[[nodiscard]] NodePtr read_json(const std::string& file, const std::string& text, Problems& problems);

}  // namespace downfit::schema
