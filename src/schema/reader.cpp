#include "schema/reader.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "base/near_miss.h"

namespace downfit::schema {

namespace {

constexpr std::size_t longest_quoted = 60;

std::string_view last_token(std::string_view pointer) {
    const std::size_t slash = pointer.rfind('/');
    return slash == std::string_view::npos ? std::string_view{} : pointer.substr(slash + 1);
}

std::string unescaped(std::string_view token) {
    std::string text;
    for (std::size_t i = 0; i < token.size(); ++i) {
        if (token[i] == '~' && i + 1 < token.size())
            text += token[++i] == '1' ? '/' : '~';
        else
            text += token[i];
    }
    return text;
}

std::optional<unsigned> hex_digit(char c) {
    if (c >= '0' && c <= '9') return static_cast<unsigned>(c - '0');
    if (c >= 'A' && c <= 'F') return static_cast<unsigned>(c - 'A' + 10);
    if (c >= 'a' && c <= 'f') return static_cast<unsigned>(c - 'a' + 10);
    return std::nullopt;
}

}  // namespace

void report(Problems& problems, TextPlace place, std::string what, std::string expected, std::string remedy) {
    problems.push_back({std::move(place), std::move(what), std::move(expected), std::move(remedy)});
}

std::string quoted(std::string_view text) {
    if (text.size() <= longest_quoted) return "\"" + std::string(text) + "\"";
    std::size_t end = longest_quoted;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
    return "\"" + std::string(text.substr(0, end)) + "...\"";
}

std::string number_text(double number) {
    std::array<char, 40> digits{};
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
    return {digits.data(), end};
}

std::string one_of(Names names) {
    std::string text;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (i > 0) text += i + 1 == names.size() ? " or " : ", ";
        text += quoted(names[i]);
    }
    return text;
}

std::string name_of(const Node& node) {
    const std::string_view last = last_token(node.pointer);
    if (node.pointer.empty()) return "the file";
    if (!node.item) return quoted(unescaped(last));
    std::size_t index = 0;
    std::from_chars(last.data(), last.data() + last.size(), index);
    const std::string_view list = std::string_view(node.pointer).substr(0, node.pointer.size() - last.size() - 1);
    const std::string item = "item " + std::to_string(index + 1);
    return list.empty() ? item : item + " of " + quoted(unescaped(last_token(list)));
}

std::string found(const Node& node) {
    switch (node.kind) {
        case Node::Kind::null: return "null";
        case Node::Kind::boolean: return node.boolean ? "true" : "false";
        case Node::Kind::number:
            return "number " + (node.whole ? std::to_string(*node.whole) : number_text(node.number));
        case Node::Kind::text: return "text " + quoted(node.text);
        case Node::Kind::array: return "a list";
        case Node::Kind::object: return "an object";
    }
    return {};
}

void report_found(Problems& problems, const Node& node, std::string expected, std::string remedy) {
    report(problems, node.value_place(), name_of(node) + " is " + found(node), std::move(expected), std::move(remedy));
}

std::optional<std::string> read_text(const Node& node, Problems& problems) {
    if (node.is(Node::Kind::text)) return node.text;
    report_found(problems, node, "a text");
    return std::nullopt;
}

std::optional<double> read_number(const Node& node, Problems& problems) {
    if (node.is(Node::Kind::number)) return node.number;
    report_found(problems, node, "a number");
    return std::nullopt;
}

std::optional<std::int64_t> read_whole(const Node& node, Limits limits, Problems& problems) {
    const bool fits = node.whole && *node.whole >= limits.least && *node.whole <= limits.most;
    if (fits) return node.whole;
    std::string expected = "a whole number";
    if (limits.least != INT64_MIN || limits.most != INT64_MAX) {
        expected += " from " + std::to_string(limits.least) + " to " + std::to_string(limits.most);
    }
    report_found(problems, node, std::move(expected));
    return std::nullopt;
}

std::optional<bool> read_boolean(const Node& node, Problems& problems) {
    if (node.is(Node::Kind::boolean)) return node.boolean;
    report_found(problems, node, "true or false");
    return std::nullopt;
}

std::optional<std::size_t> read_word(const Node& node, Names names, Problems& problems) {
    if (node.is(Node::Kind::text)) {
        const auto at = std::ranges::find(names, std::string_view(node.text));
        if (at != names.end()) return static_cast<std::size_t>(at - names.begin());
    }
    report_found(problems, node, one_of(names), node.is(Node::Kind::text) ? did_you_mean(node.text, names) : "");
    return std::nullopt;
}

std::optional<Bytes> read_hex(const Node& node, Problems& problems) {
    Bytes bytes;
    bool good = node.is(Node::Kind::text);
    for (std::size_t at = 0; good && at < node.text.size();) {
        if (node.text[at] == ' ') {
            ++at;
            continue;
        }
        const auto high = hex_digit(node.text[at]);
        const auto low = at + 1 < node.text.size() ? hex_digit(node.text[at + 1]) : std::nullopt;
        good = high && low;
        if (good) bytes.push_back(static_cast<std::uint8_t>(*high << 4 | *low));
        at += 2;
    }
    if (good && !bytes.empty()) return bytes;
    report_found(problems, node, "bytes in hex, such as \"44 36\"");
    return std::nullopt;
}

const std::vector<NodePtr>* read_list(const Node& node, std::string_view expected, Problems& problems) {
    if (node.is(Node::Kind::array)) return &node.items;
    report_found(problems, node, "a list of " + std::string(expected));
    return nullptr;
}

ObjectReader::ObjectReader(const Node& node, std::string_view thing, Names keys, Problems& problems)
    : node_(node), thing_(thing), problems_(problems), ok_(node.is(Node::Kind::object)) {
    if (!ok_) {
        report_found(problems, node, "an object: " + thing_);
        return;
    }
    for (const Member& member : node.members) {
        if (std::ranges::find(keys, std::string_view(member.key)) != keys.end()) continue;
        std::string remedy = did_you_mean(member.key, keys);
        std::string expected = remedy.empty() && keys.size() <= 8 ? one_of(keys) : "a key of " + thing_;
        report(problems, member.value->key_place(), "unknown key " + quoted(member.key), std::move(expected),
               std::move(remedy));
    }
}

const Node* ObjectReader::find(std::string_view key) const {
    return ok_ ? node_.find(key) : nullptr;
}

const Node* ObjectReader::need(std::string_view key) const {
    const Node* member = find(key);
    if (ok_ && !member) {
        report(problems_, node_.key_place(), quoted(key) + " is missing", thing_ + " with " + quoted(key));
    }
    return member;
}

std::string ObjectReader::text(std::string_view key, std::string_view otherwise) const {
    const Node* member = find(key);
    const auto read = member ? read_text(*member, problems_) : std::nullopt;
    return read ? *read : std::string(otherwise);
}

std::optional<double> ObjectReader::number(std::string_view key) const {
    const Node* member = find(key);
    return member ? read_number(*member, problems_) : std::nullopt;
}

std::optional<std::int64_t> ObjectReader::whole(std::string_view key, Limits limits) const {
    const Node* member = find(key);
    return member ? read_whole(*member, limits, problems_) : std::nullopt;
}

std::optional<std::size_t> ObjectReader::word(std::string_view key, Names names) const {
    const Node* member = find(key);
    return member ? read_word(*member, names, problems_) : std::nullopt;
}

std::optional<Bytes> ObjectReader::hex(std::string_view key) const {
    const Node* member = find(key);
    return member ? read_hex(*member, problems_) : std::nullopt;
}

}  // namespace downfit::schema
