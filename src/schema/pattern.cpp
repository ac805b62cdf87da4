#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include "schema/ids.h"
#include "schema/read_layout.h"

namespace downfit::schema {

namespace {

using PartKind = PatternPart::Kind;

constexpr std::string_view example = "a pattern such as \"F0 7D 09 {slot} {data...} F7\"";
constexpr std::array<std::string_view, 5> number_captures{"slot", "stamp", "part", "parts", "presets"};

/// What is wrong with a pattern, in words; empty if nothing is.
struct PatternFault {
    std::string what;
    std::string expected;
};

using MaybeFault = std::optional<PatternFault>;

std::optional<unsigned> hex_value(std::string_view text) {
    if (text.size() != 2) return std::nullopt;
    unsigned value = 0;
    for (const char c : text) {
        const std::size_t digit = std::string_view("0123456789ABCDEF0123456789abcdef").find(c);
        if (digit == std::string_view::npos) return std::nullopt;
        value = value << 4 | (digit & 0x0F);
    }
    return value;
}

/// The inside of one pair of braces.
MaybeFault read_capture(std::string_view inside, PatternPart& part) {
    const PatternFault bad{"\"{" + std::string(inside) + "}\" is not a capture",
                           "{name}, {name:2}, {name:2 low-first}, {name...} or {}"};
    if (inside.empty()) {
        part.kind = PartKind::any;
        return std::nullopt;
    }
    part.kind = PartKind::capture;
    if (inside.ends_with(" low-first")) {
        part.low_first = true;
        inside.remove_suffix(std::string_view(" low-first").size());
    }
    if (inside.ends_with("...")) {
        part.kind = PartKind::rest;
        inside.remove_suffix(3);
    } else if (const std::size_t colon = inside.find(':'); colon != std::string_view::npos) {
        const std::string_view length = inside.substr(colon + 1);
        if (length.size() != 1 || length[0] < '1' || length[0] > '9') return bad;
        part.length = static_cast<std::size_t>(length[0] - '0');
        inside = inside.substr(0, colon);
    }
    part.name = inside;
    if (!is_name(inside) || (part.low_first && (part.kind == PartKind::rest || part.length == 1))) return bad;
    return std::nullopt;
}

MaybeFault split(std::string_view text, std::vector<PatternPart>& parts) {
    for (std::size_t at = 0; at < text.size();) {
        if (text[at] == ' ') {
            ++at;
            continue;
        }
        PatternPart part;
        std::size_t end = std::min(text.find_first_of(" {", at + 1), text.size());
        if (text[at] == '{') {
            end = text.find('}', at);
            if (end == std::string_view::npos) return PatternFault{"a brace is not closed", "\"}\" after the capture"};
            if (auto fault = read_capture(text.substr(at + 1, end - at - 1), part)) return fault;
            ++end;
        } else if (const auto byte = hex_value(text.substr(at, end - at))) {
            part.byte = static_cast<std::uint8_t>(*byte);
        } else {
            return PatternFault{quoted(text.substr(at, end - at)) + " is not a byte in a pattern",
                                "two hex digits, or a capture in braces"};
        }
        parts.push_back(std::move(part));
        at = end;
    }
    return std::nullopt;
}

MaybeFault check_ends(const std::vector<PatternPart>& parts) {
    const auto is_byte = [](const PatternPart& part, std::uint8_t byte) {
        return part.kind == PartKind::literal && part.byte == byte;
    };
    if (parts.empty() || !is_byte(parts.front(), 0xF0)) {
        return PatternFault{"the pattern does not start with F0", "the whole message, F0 and F7 included"};
    }
    if (!is_byte(parts.back(), 0xF7)) {
        return PatternFault{"the pattern does not end with F7", "the whole message, F0 and F7 included"};
    }
    for (std::size_t i = 1; i + 1 < parts.size(); ++i) {
        if (parts[i].kind != PartKind::literal || parts[i].byte < 0x80) continue;
        return PatternFault{"a byte above 7F inside the message", "bytes from 00 to 7F between F0 and F7"};
    }
    return std::nullopt;
}

MaybeFault check_captures(const std::vector<PatternPart>& parts) {
    std::set<std::string_view> names;
    std::string rest;
    for (const PatternPart& part : parts) {
        if (part.name.empty()) continue;
        if (!names.insert(part.name).second) {
            return PatternFault{"capture " + quoted(part.name) + " stands twice in the pattern", "each capture once"};
        }
        if (part.kind == PartKind::rest) {
            if (std::ranges::find(number_captures, std::string_view(part.name)) != number_captures.end()) {
                return PatternFault{"\"{" + part.name + "...}\" has no length",
                                    "{" + part.name + "} or {" + part.name + ":2}"};
            }
            if (!rest.empty()) {
                return PatternFault{"two captures take the rest: " + quoted(rest) + " and " + quoted(part.name),
                                    "one \"...\" in a pattern"};
            }
            rest = part.name;
        } else if (part.name == "data") {
            return PatternFault{"\"data\" has a fixed length", "{data...}"};
        }
    }
    return std::nullopt;
}

}  // namespace

std::optional<std::vector<PatternPart>> read_pattern(const Node& node, Problems& problems) {
    if (!node.is(Node::Kind::text)) {
        report_found(problems, node, std::string(example));
        return std::nullopt;
    }
    std::vector<PatternPart> parts;
    MaybeFault fault = split(node.text, parts);
    if (!fault) fault = check_ends(parts);
    if (!fault) fault = check_captures(parts);
    if (!fault) return parts;
    report(problems, node.value_place(), fault->what, fault->expected);
    return std::nullopt;
}

}  // namespace downfit::schema
