#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include "base/csv.h"
#include "base/text.h"
#include "schema/located_json.h"
#include "schema/reader.h"
#include "schema/table.h"
#include "schema/table_cells.h"
#include "schema/write_json.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::pair<std::string_view, std::string_view>, 3> section_words{
    {{"choice-lists", "choices"}, {"groups", "group"}, {"parameters", "parameter"}}};

using Row = std::array<std::string, columns.size()>;

std::string& cell(Row& row, std::size_t column) {
    return row[column];
}

/// Turns release files into rows.
class Exporter {
public:
    explicit Exporter(const TableForm& form) : form_{form.decimal_comma, false} {}

    void add(const Node& release, bool several) {
        const Node* name = release.find("release");
        release_ = several && name != nullptr ? text_cell(name->text) : std::string();
        for (const Member& member : release.members) {
            const bool section =
                std::ranges::any_of(section_words, [&](const auto& one) { return one.first == member.key; });
            if (section && member.value->is(Node::Kind::object) && !member.value->members.empty()) continue;
            Row& row = start("release", member.key);
            cell(row, column_index("json")) = release_cell(*member.value);
        }
        for (const auto& [key, entry] : section_words) {
            const Node* section = release.find(key);
            if (section == nullptr || !section->is(Node::Kind::object)) continue;
            for (const Member& member : section->members) add_entry(entry, member);
        }
    }

    [[nodiscard]] std::string text(char separator) const {
        std::vector<std::size_t> used;
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (std::ranges::any_of(rows_, [&](const Row& row) { return !row[i].empty(); })) used.push_back(i);
        }
        std::string csv;
        std::vector<std::string> cells;
        for (const std::size_t i : used) cells.emplace_back(columns[i].name);
        append_csv_row(csv, cells, separator);
        for (const Row& row : rows_) {
            cells.clear();
            for (const std::size_t i : used) cells.push_back(row[i]);
            append_csv_row(csv, cells, separator);
        }
        return csv;
    }

private:
    Row& start(std::string_view entry, std::string_view id) {
        Row& row = rows_.emplace_back();
        cell(row, column_index("release")) = release_;
        cell(row, column_index("entry")) = entry;
        cell(row, column_index("id")) = text_cell(id);
        return row;
    }

    void add_entry(std::string_view entry, const Member& member) {
        Row& row = start(entry, member.key);
        const Node& value = *member.value;
        if (value.is(Node::Kind::null)) {
            cell(row, column_index("removed")) = "yes";
            return;
        }
        if (entry == "choices") {
            if (!put(row, column_index("choices"), value)) cell(row, column_index("json")) = json_line(value);
            return;
        }
        if (!value.is(Node::Kind::object)) {
            cell(row, column_index("json")) = json_line(value);
            return;
        }
        const auto rest = empty_node(Node::Kind::object);
        for (const Member& one : value.members) {
            if (!put_member(row, one, entry == "group")) rest->members.push_back(one);
        }
        if (!rest->members.empty()) cell(row, column_index("json")) = json_line(*rest);
    }

    /// Puts one key of an entry into its columns; false where they cannot say it.
    bool put_member(Row& row, const Member& member, bool group) {
        const Node& value = *member.value;
        std::vector<std::size_t> own;
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (columns[i].key == member.key) own.push_back(i);
        }
        if (own.empty()) return false;
        Row trial = row;
        if (!put_parts(trial, own, value, group)) return false;
        row = std::move(trial);
        return true;
    }

    bool put_parts(Row& row, const std::vector<std::size_t>& own, const Node& value, bool group) {
        const Column& first = columns[own.front()];
        if (first.shape == Shape::least) {
            return value.items.size() == 2 && value.items[0]->is(Node::Kind::number) &&
                   value.items[1]->is(Node::Kind::number) && value.items[0]->number <= value.items[1]->number &&
                   put(row, own[0], *value.items[0]) && put(row, own[1], *value.items[1]);
        }
        if (!first.inner.empty()) {
            if (!value.is(Node::Kind::object) || value.members.empty()) return false;
            return std::ranges::all_of(value.members, [&](const Member& member) {
                const auto at =
                    std::ranges::find_if(own, [&](std::size_t i) { return columns[i].inner == member.key; });
                return at != own.end() && put(row, *at, *member.value, group);
            });
        }
        return std::ranges::any_of(own, [&](std::size_t i) { return put(row, i, value, group); });
    }

    /// Puts a value into one cell, if it reads back as the same value from there.
    bool put(Row& row, std::size_t column, const Node& value, bool group = false) {
        auto text = write_cell(columns[column], value, form_);
        if (!text || text->empty()) return false;
        Problems wrong;
        const RowFacts facts{group, true, {}};
        const NodePtr back = CellReader(form_, wrong).read(columns[column], CellView{*text}, facts);
        if (back == nullptr || !wrong.empty() || !says_same(*back, value)) return false;
        cell(row, column) = *std::move(text);
        return true;
    }

    NumberForm form_;
    std::string release_;
    std::vector<Row> rows_;
};

/// The document of a release file, or what is wrong with it.
Result<NodePtr> read_release_file(const SourceFile& file) {
    Problems problems;
    NodePtr node = read_json(file.name, file.text, problems);
    if (!problems.empty()) return problems;
    const Node* format = node->find("format");
    if (format == nullptr || format->text != "downfit release 1") {
        return Problem{(format == nullptr ? *node : *format).value_place(), "this is no release file",
                       "a file with \"format\": \"downfit release 1\"", "device files are not tables"};
    }
    const Node* name = node->find("release");
    if (name == nullptr || !name->is(Node::Kind::text))
        return Problem{node->value_place(), "\"release\" is missing", "the release's name", {}};
    return node;
}

}  // namespace

bool has_comments(std::string_view json) {
    bool inside = false;
    for (std::size_t i = 0; i + 1 < json.size(); ++i) {
        if (inside && json[i] == '\\')
            ++i;
        else if (json[i] == '"')
            inside = !inside;
        else if (!inside && json[i] == '/')
            return true;
    }
    return false;
}

Result<std::string> export_table(std::span<const SourceFile> releases, const TableForm& form) {
    Exporter exporter(form);
    std::set<std::string> names;
    Problems problems;
    for (const SourceFile& file : releases) {
        const Result<NodePtr> document = read_release_file(file);
        if (!document) {
            problems.insert(problems.end(), document.problems().begin(), document.problems().end());
            continue;
        }
        const Node& name = *document.value()->find("release");
        if (!names.insert(name.text).second)
            report(problems, name.value_place(), "release " + quoted(name.text) + " is given twice", "each once");
        exporter.add(*document.value(), releases.size() > 1);
    }
    if (!problems.empty()) return problems;
    return (form.byte_order_mark ? std::string(byte_order_mark) : std::string()) + exporter.text(form.separator);
}

}  // namespace downfit::schema
