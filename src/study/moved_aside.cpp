#include "study/moved_aside.h"

#include <algorithm>
#include <variant>

#include "dump/pattern.h"

namespace downfit::study {

namespace {

template <class Kind>
bool holds(const schema::MessagePattern& pattern, const std::string& name) {
    return std::any_of(pattern.steps.begin(), pattern.steps.end(), [&](const schema::Step& step) {
        const auto* told = std::get_if<Kind>(&step);
        return told != nullptr && told->in == name;
    });
}

std::string capture_words(const schema::MessagePattern& pattern, const schema::PatternPart& part) {
    const std::string of = " of message \"" + pattern.name + '"';
    if (part.kind == schema::PatternPart::Kind::any) return "a byte that is not looked at," + of;
    if (holds<schema::CheckStep>(pattern, part.name)) return "check \"" + part.name + '"' + of;
    if (holds<schema::LengthStep>(pattern, part.name)) return "length \"" + part.name + '"' + of;
    return '"' + part.name + '"' + of;
}

void compare_messages(const dump::Message& a, const dump::Message& b, const schema::MessagePattern& pattern,
                      std::vector<MovedAside>& aside) {
    std::size_t index = 0;
    for (const schema::PatternPart& part : pattern.parts) {
        if (part.kind == schema::PatternPart::Kind::literal) continue;
        const std::size_t at = index++;
        if (part.name == "data" || at >= a.captures.size() || at >= b.captures.size()) continue;
        if (a.captures[at] == b.captures[at]) continue;
        aside.push_back({capture_words(pattern, part), a.span.offset + dump::capture_offset(pattern, a.captures, at),
                         b.span.offset + dump::capture_offset(pattern, b.captures, at), a.captures[at],
                         b.captures[at]});
    }
}

}  // namespace

std::string aside_words(dump::Claim by) {
    switch (by) {
        case dump::Claim::mark: return "tells a filled slot from an empty one";
        case dump::Claim::stamp: return "stamp";
        case dump::Claim::head: return "head of a record";
        case dump::Claim::end: return "end of the records";
        case dump::Claim::told: return "check or length of the layout";
        case dump::Claim::changing: return "changes by itself (volatile)";
        case dump::Claim::nobody:
        case dump::Claim::parameter: break;
    }
    return {};
}

void add_moved_messages(const EntryIn& before, const EntryIn& after, std::set<std::size_t>& told,
                        std::vector<MovedAside>& aside) {
    if (before.entry.framing != after.entry.framing || before.entry.messages.size() != after.entry.messages.size())
        return;
    const schema::Framing& framing = after.dump.device->framings[after.entry.framing];
    for (std::size_t m = 0; m < after.entry.messages.size(); ++m) {
        const dump::Message& a = before.dump.messages[before.entry.messages[m]];
        const dump::Message& b = after.dump.messages[after.entry.messages[m]];
        if (a.pattern != b.pattern || !told.insert(after.entry.messages[m]).second) continue;
        compare_messages(a, b, framing.messages[b.pattern], aside);
    }
}

}  // namespace downfit::study
