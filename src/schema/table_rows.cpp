#include "schema/table_rows.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/reader.h"
#include "schema/table_choices.h"
#include "schema/write_json.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 4> entry_words{"release", "choices", "group", "parameter"};
constexpr std::array<std::string_view, 4> entry_sections{"", "choice-lists", "groups", "parameters"};

constexpr std::size_t release_column = column_index("release");
constexpr std::size_t entry_column = column_index("entry");
constexpr std::size_t id_column = column_index("id");
constexpr std::size_t group_column = column_index("group");
constexpr std::size_t name_column = column_index("name");
constexpr std::size_t removed_column = column_index("removed");
constexpr std::size_t title_column = column_index("title");
constexpr std::size_t choices_column = column_index("choices");
constexpr std::size_t list_column = column_index("choice-list");
constexpr std::size_t json_column = column_index("json");

/// "Delay Time (ms)" becomes "delay-time-ms".
std::string name_from(std::string_view text) {
    std::string name;
    for (const char c : text) {
        const char lower = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        if (is_name({&lower, 1}) && lower != '-')
            name += lower;
        else if (!name.empty() && name.back() != '-')
            name += '-';
    }
    while (name.ends_with('-')) name.pop_back();
    return name;
}

const Member* member_of(const Node& object, std::string_view key) {
    const auto at = std::ranges::find(object.members, key, &Member::key);
    return at == object.members.end() ? nullptr : &*at;
}

}  // namespace

std::string pointer_step(std::string_view key) {
    std::string step = "/";
    for (const char c : key) {
        if (c == '~')
            step += "~0";
        else if (c == '/')
            step += "~1";
        else
            step += c;
    }
    return step;
}

TextPlace TablePlaces::find(const std::string& pointer) const {
    std::string_view rest = pointer;
    while (true) {
        const auto at = said.find(rest);
        if (at != said.end()) {
            const CsvCell& cell = *at->second.cell;
            // Down into the JSON of the cell, as far as the pointer goes.
            const Node* node = at->second.json.get();
            std::string_view below = std::string_view(pointer).substr(rest.size());
            while (node != nullptr && !below.empty()) {
                const std::size_t end = std::min(below.find('/', 1), below.size());
                const std::string_view step = below.substr(0, end);
                const Node* inner = nullptr;
                for (const Member& member : node->members) {
                    if (pointer_step(member.key) == step) inner = member.value.get();
                }
                for (std::size_t i = 0; i < node->items.size(); ++i) {
                    if (pointer_step(std::to_string(i)) == step) inner = node->items[i].get();
                }
                if (inner == nullptr) break;
                node = inner;
                below.remove_prefix(end);
            }
            const std::string_view inside = trimmed(cell.text);
            const std::size_t blanks = inside.empty() ? 0 : static_cast<std::size_t>(inside.data() - cell.text.data());
            const std::size_t offset =
                node == nullptr ? 0 : offset_of(inside, node->value_spot.line, node->value_spot.column);
            return csv_place(file, text, cell, blanks + offset);
        }
        if (rest.empty()) return {file, 1, 1, {}};
        rest = rest.substr(0, rest.rfind('/'));
    }
}

RowReader::RowReader(TablePlaces& places, const Header& header, const TableReading& reading, Problems& problems)
    : release(empty_node(Node::Kind::object)),
      lists(empty_node(Node::Kind::object)),
      groups(empty_node(Node::Kind::object)),
      parameters(empty_node(Node::Kind::object)),
      places_(places),
      header_(header),
      reading_(reading),
      problems_(problems),
      cells_({reading.decimal_comma, reading.hexadecimal}, problems) {}

const CsvCell& RowReader::cell_at(const CsvRow& row, std::size_t column) const {
    return row.cells[*header_[column]];
}

bool RowReader::filled(const CsvRow& row, std::size_t column) const {
    return header_[column] && !trimmed(cell_at(row, column).text).empty();
}

CellView RowReader::view(const CsvRow& row, std::size_t column) const {
    if (!header_[column]) return {};
    const CsvCell& cell = cell_at(row, column);
    return {trimmed(cell.text), &places_.file, places_.text, &cell};
}

void RowReader::tell(const CsvRow& row, std::size_t column, std::string what, std::string expected,
                     std::string remedy) {
    const CsvCell& cell = header_[column] ? cell_at(row, column) : row.cells.front();
    report(problems_, csv_place(places_.file, places_.text, cell), std::move(what), std::move(expected),
           std::move(remedy));
}

std::optional<RowReader::Entry> RowReader::entry_of(const CsvRow& row) {
    if (!filled(row, entry_column)) return Entry::parameter;
    const std::string_view word = view(row, entry_column).text;
    const auto at = std::ranges::find(entry_words, word);
    if (at != entry_words.end()) return static_cast<Entry>(at - entry_words.begin());
    tell(row, entry_column, "\"entry\" is " + quoted(word), one_of(entry_words), did_you_mean(word, entry_words));
    return std::nullopt;
}

std::optional<std::string> RowReader::made_id(const CsvRow& row) {
    const std::string_view name = view(row, name_column).text;
    std::string id = name_from(name);
    if (id.empty()) {
        tell(row, name_column, "no id can be made of the name " + quoted(name), "a name with letters or digits",
             "give it an id in a column \"id\"");
        return std::nullopt;
    }
    if (filled(row, group_column)) {
        const std::string group(view(row, group_column).text);
        if (!parse_id(group, true)) {
            tell(row, group_column, "\"group\" is " + quoted(group), "the path of a group, as amp.alternate",
                 did_you_mean(group, std::array{std::string_view(name_from(group))}));
            return std::nullopt;
        }
        id = group + "." + id;
    }
    return id;
}

std::optional<std::string> RowReader::id_of(const CsvRow& row, Entry entry) {
    if (!filled(row, id_column)) {
        if (entry == Entry::parameter && filled(row, name_column)) return made_id(row);
        tell(row, header_[id_column] ? id_column : name_column, "the row names nothing",
             "an id, or a name, in every row", "delete rows that are only headings");
        return std::nullopt;
    }
    const NodePtr node = cells_.read_text(view(row, id_column));
    if (node == nullptr) return std::nullopt;
    if (entry == Entry::release || entry == Entry::choices || parse_id(node->text, entry == Entry::group))
        return node->text;
    tell(row, id_column, "\"id\" is " + quoted(node->text),
         "lower-case letters, digits and \"-\", after the group's path and a point",
         name_from(node->text).empty()
             ? std::string()
             : "write it as " + quoted(name_from(node->text)) + ", or fill \"name\" instead: ids are made of names");
    return std::nullopt;
}

void RowReader::read(const CsvRow& row) {
    if (filled(row, release_column) && !reading_.release.empty()) {
        const NodePtr name = cells_.read_text(view(row, release_column));
        if (name == nullptr || name->text != reading_.release) return;
    }
    const auto entry = entry_of(row);
    if (!entry) return;
    const auto id = id_of(row, *entry);
    if (!id) return;
    if (*entry == Entry::release) {
        read_release_row(row, *id);
        return;
    }
    const std::string_view section = entry_sections[static_cast<std::size_t>(*entry)];
    const std::string pointer = "/" + std::string(section) + pointer_step(*id);
    const auto [first, fresh] = lines_.emplace(pointer, row.line);
    if (!fresh) {
        tell(row, filled(row, id_column) ? id_column : name_column,
             quoted(*id) + " stands in two rows; the first is in line " + std::to_string(first->second), "each once",
             filled(row, id_column) ? "" : "tell them apart by their groups (column \"group\"), or give them ids");
        return;
    }
    places_.said[pointer] = {&cell_at(row, filled(row, id_column) ? id_column : name_column), nullptr};
    const NodePtr value = read_entry(row, *entry, pointer);
    if (value == nullptr) return;
    Node& to = *entry == Entry::choices ? *lists : *entry == Entry::group ? *groups : *parameters;
    to.members.push_back({*id, value});
}

void RowReader::read_release_row(const CsvRow& row, const std::string& id) {
    if (!filled(row, json_column)) {
        tell(row, id_column, "release key " + quoted(id) + " has no value", "its value as JSON in the column \"json\"");
        return;
    }
    const std::string pointer = pointer_step(id);
    if (member_of(*release, id) != nullptr) {
        tell(row, id_column, "release key " + quoted(id) + " stands in two rows", "each once");
        return;
    }
    const NodePtr value = cells_.read_release(view(row, json_column));
    places_.said[pointer] = {&cell_at(row, json_column), value};
    if (value != nullptr) release->members.push_back({id, value});
}

bool RowReader::removed(const CsvRow& row) {
    if (!filled(row, removed_column)) return false;
    const std::string_view word = view(row, removed_column).text;
    if (word == "yes") return true;
    tell(row, removed_column, "\"removed\" is " + quoted(word), "yes, or an empty cell");
    return false;
}

NodePtr RowReader::read_entry(const CsvRow& row, Entry entry, const std::string& pointer) {
    if (removed(row)) return empty_node(Node::Kind::null);
    if (entry == Entry::choices) return read_choices_row(row, pointer);
    return read_attributes(row, entry == Entry::group, pointer);
}

NodePtr RowReader::read_choices_row(const CsvRow& row, const std::string& pointer) {
    const std::size_t column = filled(row, choices_column) ? choices_column : json_column;
    if (!filled(row, column)) {
        tell(row, id_column, "a choice list without choices", "choices as Room; Hall or as 0=Room; 4=Hall");
        return nullptr;
    }
    NodePtr value = cells_.read(columns[column], view(row, column), {});
    places_.said[pointer] = {&cell_at(row, column), value};
    return value;
}

NodePtr RowReader::read_attributes(const CsvRow& row, bool group, const std::string& pointer) {
    const auto object = empty_node(Node::Kind::object);
    const RowFacts facts{group, filled(row, choices_column) || filled(row, list_column),
                         filled(row, choices_column) ? view(row, choices_column).text : std::string_view()};
    const std::size_t told = problems_.size();
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const Column& column = columns[i];
        if (column.shape == Shape::special || !filled(row, i)) continue;
        const NodePtr value = cells_.read(column, view(row, i), facts);
        if (value == nullptr) continue;
        const bool json =
            column.shape == Shape::json || view(row, i).text.starts_with('[') || view(row, i).text.starts_with('{');
        const std::string inner = column.inner.empty() ? "" : pointer_step(column.inner);
        const std::string key = pointer + pointer_step(column.key);
        const SaidBy said{&cell_at(row, i), json ? value : nullptr};
        places_.said.emplace(key, SaidBy{said.cell, inner.empty() ? said.json : nullptr});
        if (!inner.empty()) places_.said[key + inner] = said;
        if (column.shape == Shape::least) places_.said[key + "/0"] = said;
        if (column.shape == Shape::most) places_.said[key + "/1"] = said;
        if (column.name == "choice-list" && member_of(*object, "choices") != nullptr) {
            tell(row, i, "the row has both \"choices\" and \"choice-list\"", "one of them");
            continue;
        }
        put(*object, column, value);
    }
    if (!group && filled(row, name_column) && member_of(*object, "title") == nullptr &&
        header_[title_column] == std::nullopt)
        object->members.insert(object->members.begin(), {"title", text_node(view(row, name_column).text)});
    if (problems_.size() == told) check_pairs(row, *object);
    add_rest(row, *object, pointer);
    return object;
}

void RowReader::put(Node& object, const Column& column, const NodePtr& value) {
    const bool pair = column.shape == Shape::least || column.shape == Shape::most;
    if (column.inner.empty() && !pair) {
        object.members.push_back({std::string(column.key), value});
        return;
    }
    auto at = std::ranges::find(object.members, column.key, &Member::key);
    if (at == object.members.end()) {
        object.members.push_back({std::string(column.key), empty_node(pair ? Node::Kind::array : Node::Kind::object)});
        at = std::prev(object.members.end());
    }
    const auto grown = std::make_shared<Node>(*at->value);
    if (pair)
        grown->items.push_back(value);
    else
        grown->members.push_back({std::string(column.inner), value});
    at->value = grown;
}

void RowReader::check_pairs(const CsvRow& row, const Node& object) {
    for (std::size_t i = 0; i + 1 < columns.size(); ++i) {
        if (columns[i].shape != Shape::least) continue;
        const std::string least(columns[i].name), most(columns[i + 1].name);
        if (filled(row, i) != filled(row, i + 1)) {
            const bool first = filled(row, i);
            tell(row, first ? i : i + 1, quoted(first ? least : most) + " stands alone", "both ends, or neither",
                 "fill " + quoted(first ? most : least) + " too");
            continue;
        }
        const Member* pair = member_of(object, columns[i].key);
        if (pair == nullptr || !pair->value->items[0]->is(Node::Kind::number) ||
            !pair->value->items[1]->is(Node::Kind::number))
            continue;
        if (pair->value->items[0]->number > pair->value->items[1]->number) {
            tell(row, i, quoted(least) + " is above " + quoted(most), "the lower end first",
                 "exchange the two cells; a scale may fall, a range may not");
        }
    }
    if (filled(row, name_column) && !filled(row, id_column) && reading_.extends.empty() &&
        member_of(object, "at") == nullptr && member_of(object, "tag") == nullptr &&
        member_of(object, "path") == nullptr && !filled(row, json_column)) {
        tell(row, name_column, quoted(view(row, name_column).text) + " has no place",
             "the byte in \"at\", the number in \"tag\", or the \"path\" in JSON and XML dumps",
             "delete rows that are only headings");
    }
}

void RowReader::add_rest(const CsvRow& row, Node& object, const std::string& pointer) {
    if (!filled(row, json_column)) return;
    const NodePtr rest = cells_.read_json(view(row, json_column));
    if (rest == nullptr) return;
    if (!rest->is(Node::Kind::object)) {
        tell(row, json_column, "\"json\" is " + found(*rest), "an object with keys that have no column");
        return;
    }
    for (const Member& member : rest->members) {
        if (member_of(object, member.key) != nullptr) {
            tell(row, json_column, "key " + quoted(member.key) + " stands in \"json\" and in a column of its own",
                 "one of them");
            continue;
        }
        places_.said[pointer + pointer_step(member.key)] = {&cell_at(row, json_column), member.value};
        object.members.push_back(member);
    }
}

}  // namespace downfit::schema
