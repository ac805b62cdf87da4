// JSON parts that several reports share. For the sources of report/ only.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "base/problem.h"
#include "schema/device.h"

namespace downfit::report {

/// Keys stay in the order in which they were written.
using Json = nlohmann::ordered_json;

/// Indented, but each of a list of findings in one line: a report may have tens of thousands. ASCII only, with a line
/// break at the end; bytes that are no UTF-8 become U+FFFD.
[[nodiscard]] std::string json_text(const Json& json);

/// Null where there is nothing to say.
[[nodiscard]] inline Json text_or_null(const std::string& text) {
    return text.empty() ? Json() : Json(text);
}
template <class Value>
[[nodiscard]] Json or_null(const std::optional<Value>& value) {
    return value ? Json(*value) : Json();
}

/// {"what", "expected", "remedy", "file", and "line", "column", "pointer" or "byte", "length", "slot"}, as far as
/// known.
[[nodiscard]] Json problem_json(const Problem& problem);
[[nodiscard]] Json problems_json(const Problems& problems);

/// {"device", "title", "maker"}.
[[nodiscard]] Json device_json(const schema::Device& device);

/// [{"file", "holds", "release", "sha-256"}]: the device file, then release files, oldest first.
[[nodiscard]] Json schemas_json(const schema::Device& device);

}  // namespace downfit::report
