#include "schema/table_choices.h"

#include <algorithm>
#include <charconv>
#include <set>
#include <utility>
#include <vector>

#include "base/csv.h"
#include "schema/located_json.h"
#include "schema/reader.h"
#include "schema/write_json.h"

namespace downfit::schema {

namespace {

/// A choice as written, and where.
struct Item {
    std::size_t at = 0;
    std::string_view text;
    std::optional<std::int64_t> number;
    std::size_t label_at = 0;
    std::string_view label;
};

std::string_view trimmed_at(std::string_view text, std::size_t& at) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t first = std::min(text.find_first_not_of(blanks), text.size());
    at += first;
    text.remove_prefix(first);
    while (!text.empty() && blanks.find(text.back()) != std::string_view::npos) text.remove_suffix(1);
    return text;
}

std::string_view separator_in(std::string_view text) {
    for (const std::string_view one : {"\n", "\r", ";", "|"}) {
        if (text.find(one) != std::string_view::npos) return one;
    }
    return ",";
}

/// Takes the number in front, if there is one.
void take_number(Item& item) {
    item.label = item.text;
    item.label_at = item.at;
    std::int64_t number = 0;
    const char* begin = item.text.data();
    const auto [end, error] = std::from_chars(begin, begin + item.text.size(), number);
    if (error != std::errc{}) return;
    std::size_t mark = static_cast<std::size_t>(end - begin);
    while (mark < item.text.size() && item.text[mark] == ' ') ++mark;
    if (mark >= item.text.size()) return;
    const bool colon = item.text[mark] == ':' && mark + 1 < item.text.size() && item.text[mark + 1] == ' ';
    if (item.text[mark] != '=' && !colon) return;
    item.number = number;
    item.label_at = item.at + mark + 1;
    item.label = trimmed_at(item.text.substr(mark + 1), item.label_at);
}

std::vector<Item> items_of(std::string_view text) {
    const std::string_view separator = separator_in(text);
    std::vector<Item> items;
    for (std::size_t start = 0; start <= text.size();) {
        const std::size_t end = std::min(text.find(separator, start), text.size());
        Item item;
        item.at = start;
        item.text = trimmed_at(text.substr(start, end - start), item.at);
        take_number(item);
        const bool behind_last = item.text.empty() && end == text.size() && !items.empty();
        if (!behind_last) items.push_back(item);
        start = end + separator.size();
    }
    return items;
}

ReadChoices wrong(std::size_t at, std::string what, std::string expected, std::string remedy = {}) {
    return {nullptr, at, std::move(what), std::move(expected), std::move(remedy)};
}

constexpr std::string_view choices_form = "choices as Room; Hall or as 0=Room; 4=Hall";

}  // namespace

ReadChoices read_choice_text(std::string_view text) {
    const std::vector<Item> items = items_of(text);
    const bool numbered = items.front().number.has_value();
    std::set<std::string_view> labels;
    std::set<std::int64_t> numbers;
    const auto list = empty_node(numbered ? Node::Kind::object : Node::Kind::array);
    for (const Item& item : items) {
        if (item.label.empty()) return wrong(item.at, "a choice without a label", std::string(choices_form));
        if (item.number.has_value() != numbered) {
            return wrong(item.at, "choice " + quoted(item.label) + (numbered ? " has no number" : " has a number"),
                         "a number before each choice or before none");
        }
        if (!labels.insert(item.label).second)
            return wrong(item.label_at, "choice " + quoted(item.label) + " stands twice", "each label once");
        if (numbered && !numbers.insert(*item.number).second) {
            return wrong(item.at, "number " + std::to_string(*item.number) + " stands twice among the choices",
                         "each number once");
        }
        if (numbered)
            list->members.push_back({std::string(item.label), number_node(static_cast<double>(*item.number))});
        else
            list->items.push_back(text_node(item.label));
    }
    return {list, 0, {}, {}, {}};
}

bool has_choice(std::string_view cell, std::string_view label) {
    if (cell.starts_with('{') || cell.starts_with('[')) {
        Problems told_elsewhere;
        const NodePtr node = read_json({}, std::string(cell), told_elsewhere);
        if (node == nullptr) return false;
        return node->find(label) != nullptr ||
               std::ranges::any_of(node->items, [&](const NodePtr& item) { return item->text == label; });
    }
    const std::vector<Item> items = items_of(cell);
    return std::ranges::any_of(items, [&](const Item& item) { return item.label == label; });
}

std::optional<std::string> choice_text(const Node& choices) {
    std::string text;
    const auto add = [&](const std::string& item) { text += (text.empty() ? "" : "; ") + item; };
    for (const NodePtr& item : choices.items) {
        if (!item->is(Node::Kind::text)) return std::nullopt;
        add(item->text);
    }
    for (const Member& member : choices.members) {
        if (!member.value->is(Node::Kind::number)) return std::nullopt;
        add(json_number(*member.value) + '=' + member.key);
    }
    const bool plain =
        !text.empty() && text.front() != '{' && text.front() != '[' && text.front() != '"' && text.front() != '\'' &&
        text != "null" && !starts_like_formula(text) &&
        std::ranges::none_of(text, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == '\x7F'; });
    if (!plain) return std::nullopt;
    // One label alone, beginning with a digit, is what spreadsheets make dates of.
    if (choices.items.size() == 1 && text.front() >= '0' && text.front() <= '9') return std::nullopt;
    const NodePtr back = read_choice_text(text).node;
    if (back == nullptr || !says_same(*back, choices)) return std::nullopt;
    return text;
}

std::size_t offset_of(std::string_view text, std::size_t line, std::size_t column) {
    std::size_t start = 0;
    for (std::size_t i = 1; i < line; ++i) {
        const std::size_t end = text.find('\n', start);
        if (end == std::string_view::npos) break;
        start = end + 1;
    }
    return std::min(start + column - 1, text.size());
}

}  // namespace downfit::schema
