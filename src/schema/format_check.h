// A second judge of schema files: the published JSON Schemas of schemas/format/. For load.cpp and the tests only.
//
// Our own reader knows more and says it better. This judge is here so that the two can't drift apart: what editors
// call wrong, by the same JSON Schema, is never loaded.
#pragma once

#include <optional>

#include "base/problem.h"
#include "schema/node.h"

namespace downfit::schema {

enum class FileKind { device, release, policy, rig, substitutes };

/// The first thing in a document that the JSON Schema (draft 7) of its kind does not allow, with the place of the
/// innermost value concerned; nothing if it allows all of it. Two sorts of documents are not judged: with a key or text
/// of more than 1,000 bytes that is not for people only (matching a pattern needs stack for every byte), and with a
/// list of more than 1,000 items (that none stands twice is found by comparing each with each).
[[nodiscard]] std::optional<Problem> check_format(const Node& document, FileKind kind);

}  // namespace downfit::schema
