#include "schema/write_json.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "base/text.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 3> section_keys{"choice-lists", "groups", "parameters"};
constexpr double largest_exact = 9007199254740992.0;

void append(std::string& text, const Node& node);

void append_object(std::string& text, const Node& node) {
    if (node.members.empty()) {
        text += "{}";
        return;
    }
    text += '{';
    for (std::size_t i = 0; i < node.members.size(); ++i) {
        text += (i > 0 ? ", " : " ") + json_quoted(node.members[i].key) + ": ";
        append(text, *node.members[i].value);
    }
    text += " }";
}

void append_array(std::string& text, const Node& node) {
    text += '[';
    for (std::size_t i = 0; i < node.items.size(); ++i) {
        if (i > 0) text += ", ";
        append(text, *node.items[i]);
    }
    text += ']';
}

void append(std::string& text, const Node& node) {
    switch (node.kind) {
        case Node::Kind::null: text += "null"; return;
        case Node::Kind::boolean: text += node.boolean ? "true" : "false"; return;
        case Node::Kind::number: text += json_number(node); return;
        case Node::Kind::text: text += json_quoted(node.text); return;
        case Node::Kind::array: append_array(text, node); return;
        case Node::Kind::object: append_object(text, node); return;
    }
}

}  // namespace

std::string json_quoted(std::string_view text) {
    std::string quoted = "\"";
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '"' || c == '\\') {
            quoted += {'\\', c};
        } else if (c == '\n') {
            quoted += "\\n";
        } else if (c == '\r') {
            quoted += "\\r";
        } else if (c == '\t') {
            quoted += "\\t";
        } else if (byte < 0x20 || byte == 0x7F) {
            quoted += "\\u" + hex_text(byte, 4);
        } else {
            quoted += c;
        }
    }
    return quoted + '"';
}

std::string json_number(const Node& node) {
    std::array<char, 32> buffer{};
    const auto written = node.whole ? std::to_chars(buffer.data(), buffer.data() + buffer.size(), *node.whole)
                                    : std::to_chars(buffer.data(), buffer.data() + buffer.size(), node.number);
    return {buffer.data(), written.ptr};
}

std::string json_line(const Node& node) {
    std::string text;
    append(text, node);
    return text;
}

std::string json_file(const Node& document) {
    std::string text = "{\n";
    for (std::size_t i = 0; i < document.members.size(); ++i) {
        const auto& [key, value] = document.members[i];
        text += "  " + json_quoted(key) + ": ";
        const bool section = std::ranges::find(section_keys, key) != section_keys.end();
        if (section && value->is(Node::Kind::object) && !value->members.empty()) {
            text += "{\n";
            for (std::size_t k = 0; k < value->members.size(); ++k) {
                text += "    " + json_quoted(value->members[k].key) + ": " + json_line(*value->members[k].value);
                text += k + 1 < value->members.size() ? ",\n" : "\n";
            }
            text += "  }";
        } else {
            append(text, *value);
        }
        text += i + 1 < document.members.size() ? ",\n" : "\n";
    }
    return text + "}\n";
}

bool says_same(const Node& a, const Node& b) {
    if (a.kind != b.kind) return false;
    const auto same = [](const NodePtr& x, const NodePtr& y) { return says_same(*x, *y); };
    const auto same_member = [](const Member& x, const Member& y) {
        return x.key == y.key && says_same(*x.value, *y.value);
    };
    switch (a.kind) {
        case Node::Kind::null: return true;
        case Node::Kind::boolean: return a.boolean == b.boolean;
        case Node::Kind::number: return a.number == b.number && a.whole == b.whole;
        case Node::Kind::text: return a.text == b.text;
        case Node::Kind::array: return std::ranges::equal(a.items, b.items, same);
        case Node::Kind::object: return std::ranges::equal(a.members, b.members, same_member);
    }
    return false;
}

std::shared_ptr<Node> empty_node(Node::Kind kind) {
    auto node = std::make_shared<Node>();
    node->kind = kind;
    return node;
}

std::shared_ptr<Node> text_node(std::string_view text) {
    auto node = empty_node(Node::Kind::text);
    node->text = text;
    return node;
}

std::shared_ptr<Node> number_node(double number) {
    auto node = empty_node(Node::Kind::number);
    node->number = number;
    if (std::abs(number) <= largest_exact && number == std::trunc(number))
        node->whole = static_cast<std::int64_t>(number);
    return node;
}

}  // namespace downfit::schema
