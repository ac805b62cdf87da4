#include "schema/read_user_file.h"

#include <algorithm>
#include <array>
#include <set>
#include <variant>

#include "base/digest.h"
#include "base/limits.h"
#include "schema/reader.h"

namespace downfit::schema {

NodePtr open_user_file(const SourceFile& file, std::string_view format, Problems& problems) {
    if (file.text.size() > limits::largest_schema_file) {
        problems.push_back(
            {file.name, "the file has " + std::to_string(file.text.size()) + " bytes", "at most 16 MiB", {}});
        return nullptr;
    }
    NodePtr document = read_json(file.name, file.text, problems);
    if (!document) return nullptr;
    const std::array<std::string_view, 1> formats{format};
    const Node* named = document->find("format");
    if (!document->is(Node::Kind::object) || !named) {
        report(problems, document->value_place(),
               document->is(Node::Kind::object) ? "\"format\" is missing" : "the file is " + found(*document),
               "an object with \"format\": " + one_of(formats));
        return nullptr;
    }
    return read_word(*named, formats, problems) ? document : nullptr;
}

void close_user_file(const Node& document, FileKind kind, Problems& problems) {
    if (problems.empty()) {
        if (auto problem = check_format(document, kind)) problems.push_back(*std::move(problem));
    }
    std::ranges::stable_sort(problems, {}, [](const Problem& problem) {
        const auto* place = std::get_if<TextPlace>(&problem.place);
        return place ? std::pair(place->line, place->column) : std::pair<std::size_t, std::size_t>();
    });
}

std::vector<NamedRelease> read_on(const Node& node, Problems& problems) {
    std::vector<NamedRelease> releases;
    const auto* items = read_list(node, "release names", problems);
    if (!items) return releases;
    if (items->empty()) report(problems, node.value_place(), "a list without releases", "one release or more");
    std::set<std::string> seen;
    for (const NodePtr& item : *items) {
        const auto name = read_text(*item, problems);
        if (!name) continue;
        if (name->empty()) {
            report_found(problems, *item, "a release name");
        } else if (!seen.insert(*name).second) {
            report(problems, item->value_place(), quoted(*name) + " stands twice in the list", "each release once");
        } else {
            releases.push_back({*name, item->value_place()});
        }
    }
    return releases;
}

std::string digest_of(const SourceFile& file) {
    return sha256_hex(ByteView(reinterpret_cast<const std::uint8_t*>(file.text.data()), file.text.size()));
}

}  // namespace downfit::schema
