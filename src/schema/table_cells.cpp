#include "schema/table_cells.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include "base/near_miss.h"
#include "schema/located_json.h"
#include "schema/reader.h"
#include "schema/table_choices.h"
#include "schema/write_json.h"

namespace downfit::schema {

namespace {

constexpr std::string_view minus_sign = "\xE2\x88\x92";  // U+2212, as manuals print it

bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/// The text with "-" for a printed minus and without a plus in front.
std::string plain_number(std::string_view text) {
    std::string plain(text);
    if (plain.starts_with(minus_sign)) plain.replace(0, minus_sign.size(), "-");
    if (plain.starts_with('+') && plain.size() > 1 && plain[1] != '-') plain.erase(0, 1);
    return plain;
}

/// A decimal number that takes the whole text.
std::optional<double> decimal(std::string_view text, bool comma) {
    std::string plain = plain_number(text);
    if (comma) {
        if (plain.find('.') != std::string::npos) return std::nullopt;
        std::ranges::replace(plain, ',', '.');
    }
    const std::size_t first = plain.starts_with('-') ? 1 : 0;
    if (first >= plain.size() || (!is_digit(plain[first]) && plain[first] != '.')) return std::nullopt;
    double number = 0;
    const auto [end, error] = std::from_chars(plain.data(), plain.data() + plain.size(), number);
    if (error != std::errc{} || end != plain.data() + plain.size() || !std::isfinite(number)) return std::nullopt;
    return number;
}

/// The digits of a hexadecimal number: "0x1F", "$1F", "1Fh", and without a mark where `bare` says so.
std::optional<double> hexadecimal(std::string_view text, bool bare) {
    if (text.starts_with("0x") || text.starts_with("0X"))
        text.remove_prefix(2);
    else if (text.starts_with('$'))
        text.remove_prefix(1);
    else if (text.ends_with('h') || text.ends_with('H'))
        text.remove_suffix(1);
    else if (!bare)
        return std::nullopt;
    while (text.ends_with(' ')) text.remove_suffix(1);
    std::uint32_t number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number, 16);
    if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return number;
}

/// What to do about a number that cannot be read.
std::string number_remedy(std::string_view text, bool comma) {
    if (decimal(text, !comma))
        return comma ? "write it with a comma, or leave out --decimal comma"
                     : "write 0.5 for 0,5, or say --decimal comma";
    const std::string plain = plain_number(text);
    std::size_t end = 0;
    while (end < plain.size() && (is_digit(plain[end]) || plain[end] == '.' || (end == 0 && plain[end] == '-'))) ++end;
    if (end > 0 && end < plain.size() && decimal(std::string_view(plain).substr(0, end), false)) {
        if (plain[end] == ',') return "write it without marks between the thousands";
        if (plain[end] == ' ' || is_letter(plain[end]) || plain[end] == '%')
            return "the number alone; a unit has its own column";
    }
    return "leave the cell empty where there is none";
}

/// Whether a text could be read as something else than itself.
bool reads_otherwise(std::string_view text) {
    return text == "true" || text == "false" || text == "null";
}

std::optional<std::string> number_cell(const Node& value, bool comma) {
    if (!value.is(Node::Kind::number)) return std::nullopt;
    std::string text = json_number(value);
    if (comma) std::ranges::replace(text, '.', ',');
    return text;
}

}  // namespace

TextPlace CellView::place(std::size_t at) const {
    if (file == nullptr) return {};
    if (cell == nullptr) return {*file, 1, 1, {}};
    const std::size_t blanks = cell->text.find_first_not_of(" \t\r\n");
    return csv_place(*file, table, *cell, at + (blanks == std::string::npos ? 0 : blanks));
}

NodePtr CellReader::wrong(const CellView& cell, std::size_t at, std::string what, std::string expected,
                          std::string remedy) const {
    problems_.push_back({cell.place(at), std::move(what), std::move(expected), std::move(remedy)});
    return nullptr;
}

NodePtr CellReader::read(const Column& column, const CellView& cell, const RowFacts& row) const {
    if (cell.text == "null") return empty_node(Node::Kind::null);
    switch (column.shape) {
        case Shape::text: return read_word(column, cell, row.group);
        case Shape::number:
        case Shape::least:
        case Shape::most: return read_number(column, cell);
        case Shape::address: return read_address(column, cell);
        case Shape::setting: return read_setting(column, cell, row);
        case Shape::json:
        case Shape::special: return read_json(cell);
        case Shape::numbers: return read_numbers(column, cell);
        case Shape::choices: return read_choices(cell);
    }
    return nullptr;
}

NodePtr CellReader::read_json(const CellView& cell) const {
    Problems inside;
    const std::string text(cell.text);
    NodePtr node = schema::read_json({}, text, inside);
    for (Problem& problem : inside) {
        const auto* spot = std::get_if<TextPlace>(&problem.place);
        const std::size_t at = spot == nullptr ? 0 : offset_of(text, spot->line, spot->column);
        problem.place = cell.place(at);
        problem.what = "in the JSON of this cell: " + problem.what;
        problems_.push_back(std::move(problem));
    }
    return inside.empty() ? node : nullptr;
}

NodePtr CellReader::read_text(const CellView& cell) const {
    std::string_view text = cell.text;
    if (text.starts_with('"')) {
        NodePtr node = read_json(cell);
        if (node == nullptr || node->is(Node::Kind::text)) return node;
        return wrong(cell, 0, "the cell is " + found(*node), "a text");
    }
    if (text.starts_with('\'') && starts_like_formula(text.substr(1))) text.remove_prefix(1);
    return text_node(text);
}

NodePtr CellReader::read_word(const Column& column, const CellView& cell, bool group) const {
    NodePtr node = read_text(cell);
    const std::span<const std::string_view> words = column_words(column.name, group);
    if (node == nullptr || words.empty() || std::ranges::find(words, node->text) != words.end()) return node;
    return wrong(cell, 0, quoted(column.name) + " is " + quoted(node->text), one_of(words),
                 did_you_mean(node->text, words));
}

NodePtr CellReader::read_number(const Column& column, const CellView& cell) const {
    if (const auto number = decimal(cell.text, form_.decimal_comma)) return number_node(*number);
    return wrong(cell, 0, quoted(column.name) + " is " + quoted(cell.text),
                 form_.decimal_comma ? "a number, as 12 or -0,5" : "a number, as 12 or -0.5",
                 number_remedy(cell.text, form_.decimal_comma));
}

NodePtr CellReader::read_address(const Column& column, const CellView& cell) const {
    if (cell.text.starts_with('[')) return read_json(cell);
    if (const auto number = hexadecimal(cell.text, form_.hexadecimal)) return number_node(*number);
    const auto number = form_.hexadecimal ? std::nullopt : decimal(cell.text, false);
    if (number && *number == std::trunc(*number)) return number_node(*number);
    std::string remedy = "leave the cell empty where there is none";
    if (!form_.hexadecimal && hexadecimal(cell.text, true)) remedy = "if all are hexadecimal, say --hex";
    if (cell.text.find(' ') != std::string_view::npos || cell.text.find(':') != std::string_view::npos)
        remedy = "make one number of it: of bytes with 7 bits each, 128 times the first and the second";
    return wrong(cell, 0, quoted(column.name) + " is " + quoted(cell.text),
                 form_.hexadecimal ? "a hexadecimal number, as 1F" : "a whole number, as 31, 0x1F or 1Fh",
                 std::move(remedy));
}

NodePtr CellReader::read_setting(const Column& column, const CellView& cell, const RowFacts& row) const {
    if (!row.choices.empty() && has_choice(row.choices, cell.text)) return text_node(cell.text);
    if (cell.text == "true" || cell.text == "false") {
        const auto node = empty_node(Node::Kind::boolean);
        node->boolean = cell.text == "true";
        return node;
    }
    if (const auto number = decimal(cell.text, form_.decimal_comma)) return number_node(*number);
    if (!row.has_choices && decimal(cell.text, !form_.decimal_comma)) return read_number(column, cell);
    return read_text(cell);
}

NodePtr CellReader::read_numbers(const Column& column, const CellView& cell) const {
    if (cell.text.starts_with('[')) return read_json(cell);
    const auto list = empty_node(Node::Kind::array);
    for (std::size_t start = 0; start <= cell.text.size();) {
        const std::size_t end = std::min(cell.text.find_first_of(";|", start), cell.text.size());
        std::size_t first = start, last = end;
        while (first < last && cell.text[first] == ' ') ++first;
        while (last > first && cell.text[last - 1] == ' ') --last;
        const auto number = decimal(cell.text.substr(first, last - first), form_.decimal_comma);
        if (!number) {
            return wrong(cell, first,
                         quoted(column.name) + " has " + quoted(cell.text.substr(first, last - first)) + " in it",
                         "numbers with semicolons between, as 0; 127",
                         number_remedy(cell.text.substr(first, last - first), form_.decimal_comma));
        }
        list->items.push_back(number_node(*number));
        start = end + 1;
    }
    return list;
}

NodePtr CellReader::read_choices(const CellView& cell) const {
    if (cell.text.starts_with('{') || cell.text.starts_with('[')) return read_json(cell);
    const ReadChoices read = read_choice_text(cell.text);
    if (read.node != nullptr) return read.node;
    return wrong(cell, read.at, read.what, read.expected, read.remedy);
}

NodePtr CellReader::read_release(const CellView& cell) const {
    const bool plain = (is_letter(cell.text.front()) && !reads_otherwise(cell.text)) || cell.text == "%";
    return plain ? read_text(cell) : read_json(cell);
}

std::string release_cell(const Node& value) {
    return value.is(Node::Kind::text) ? text_cell(value.text) : json_line(value);
}

std::string text_cell(std::string_view text) {
    const bool plain =
        !text.empty() && (is_letter(text.front()) || text == "%") && text.back() != ' ' && !reads_otherwise(text) &&
        std::ranges::none_of(text, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == '\x7F'; });
    return plain ? std::string(text) : json_quoted(text);
}

std::optional<std::string> write_cell(const Column& column, const Node& value, const NumberForm& form) {
    if (value.is(Node::Kind::null)) return "null";
    switch (column.shape) {
        case Shape::text: return value.is(Node::Kind::text) ? std::optional(text_cell(value.text)) : std::nullopt;
        case Shape::number:
        case Shape::least:
        case Shape::most: return number_cell(value, form.decimal_comma);
        case Shape::address: return value.is(Node::Kind::array) ? json_line(value) : number_cell(value, false);
        case Shape::setting:
            if (value.is(Node::Kind::text)) return text_cell(value.text);
            if (value.is(Node::Kind::boolean)) return value.boolean ? "true" : "false";
            return number_cell(value, form.decimal_comma);
        case Shape::numbers: return value.is(Node::Kind::array) ? std::optional(json_line(value)) : std::nullopt;
        case Shape::choices:
            if (auto text = choice_text(value)) return text;
            return value.is(Node::Kind::array) || value.is(Node::Kind::object) ? std::optional(json_line(value))
                                                                               : std::nullopt;
        case Shape::json:
        case Shape::special: return json_line(value);
    }
    return std::nullopt;
}

}  // namespace downfit::schema
