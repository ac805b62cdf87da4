#include "schema/marks.h"

#include <algorithm>

#include "base/near_miss.h"
#include "schema/reader.h"

namespace downfit::schema {

void check_marks(const Node& node, Problems& problems) {
    if (!node.is(Node::Kind::object)) {
        report_found(problems, node, "an object: what \"schema proof\" calls the contradiction, and how you know it");
        return;
    }
    const std::vector<std::string_view> names = markable_faults();
    for (const Member& member : node.members) {
        if (std::ranges::find(names, std::string_view(member.key)) == names.end()) {
            report(problems, member.value->key_place(), quoted(member.key) + " is nothing that can be marked",
                   one_of(names), did_you_mean(member.key, names));
            continue;
        }
        const auto reason = read_text(*member.value, problems);
        if (reason && reason->empty()) report_found(problems, *member.value, "how you know that the device is so");
    }
}

std::optional<Mark> mark_in(const Node* marks, Fault fault) {
    const Node* reason = marks ? marks->find(row_of(fault).name) : nullptr;
    if (!reason || !reason->is(Node::Kind::text)) return std::nullopt;
    return Mark{reason->text, reason->key_place()};
}

}  // namespace downfit::schema
