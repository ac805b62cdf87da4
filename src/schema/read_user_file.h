// What reading policy, rig and substitutes files has in common: size, format, the JSON Schema, problems by place.
#pragma once

#include <exception>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/problem.h"
#include "schema/format_check.h"
#include "schema/load.h"
#include "schema/located_json.h"
#include "schema/policy.h"

namespace downfit::schema {

/// The document of such a file; null where it is none, and `problems` say why. Small faults of its text are told too.
[[nodiscard]] NodePtr open_user_file(const SourceFile& file, std::string_view format, Problems& problems);

/// What the JSON Schema has against it, where nothing else is wrong; then all problems in the order of the text.
void close_user_file(const Node& document, FileKind kind, Problems& problems);

/// A list of release names under "on", each once.
[[nodiscard]] std::vector<NamedRelease> read_on(const Node& node, Problems& problems);

/// SHA-256 of the text, hex.
[[nodiscard]] std::string digest_of(const SourceFile& file);

/// Reads one: `read(document, problems)` makes the content, whose `file` and `digest` are filled in here. `what` is
/// "the policy", for an error of the program itself.
template <class Read>
auto read_user_file(const SourceFile& file, std::string_view format, FileKind kind, std::string_view what, Read read)
    -> Result<decltype(read(std::declval<const Node&>(), std::declval<Problems&>()))> {
    try {
        Problems problems;
        const NodePtr document = open_user_file(file, format, problems);
        if (!document) return problems;
        auto content = read(*document, problems);
        close_user_file(*document, kind, problems);
        if (!problems.empty()) return problems;
        content.file = file.name;
        content.digest = digest_of(file);
        return content;
    } catch (const std::exception& error) {
        return Problem{file.name, "reading " + std::string(what) + " failed", {}, error.what()};
    }
}

}  // namespace downfit::schema
