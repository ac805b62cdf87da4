// A JSON document back to text, as schema files are written by hand. For the sources of schema/ only.
#pragma once

#include <string>
#include <string_view>

#include "schema/node.h"

namespace downfit::schema {

/// A text in JSON's quotes: control characters and DEL escaped, everything else as it is (UTF-8).
[[nodiscard]] std::string json_quoted(std::string_view text);

/// A number as JSON: the shortest decimal text that reads back as the same number.
[[nodiscard]] std::string json_number(const Node& node);

/// A value on one line: `{ "at": 0, "range": [0, 10] }`.
[[nodiscard]] std::string json_line(const Node& node);

/// A release file: each key on a line of its own, and in parameters, groups and choice lists each entry. Ends with a
/// line break.
[[nodiscard]] std::string json_file(const Node& document);

/// Whether both say the same: places do not count, the order of an object's members does.
[[nodiscard]] bool says_same(const Node& a, const Node& b);

/// New nodes, without places.
[[nodiscard]] std::shared_ptr<Node> text_node(std::string_view text);
[[nodiscard]] std::shared_ptr<Node> number_node(double number);
[[nodiscard]] std::shared_ptr<Node> empty_node(Node::Kind kind);

}  // namespace downfit::schema
