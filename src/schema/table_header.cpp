#include "schema/table_header.h"

#include <algorithm>
#include <array>

#include "base/near_miss.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

/// Columns that say where a parameter stands.
constexpr std::array<std::string_view, 5> places{"at", "tag", "path", "in", "json"};

class HeaderReader {
public:
    HeaderReader(const SourceFile& table, const CsvTable& csv, const TableReading& reading, Problems& problems)
        : table_(table), row_(csv.rows.front()), reading_(reading), problems_(problems) {
        for (const CsvCell& cell : row_.cells) names_.emplace_back(trimmed(cell.text));
        used_.resize(names_.size());
    }

    Header read() {
        for (const auto& [ours, theirs] : reading_.columns) map(ours, theirs);
        for (const std::string& theirs : reading_.ignored) {
            if (const auto at = find(theirs, "--ignore")) used_[*at] = true;
        }
        const auto before = static_cast<std::ptrdiff_t>(problems_.size());
        for (std::size_t i = 0; i < names_.size(); ++i) take(i);
        const auto of_columns = static_cast<std::ptrdiff_t>(problems_.size());
        check_needed();
        // What is missing stands at the begin of the line.
        std::rotate(problems_.begin() + before, problems_.begin() + of_columns, problems_.end());
        return header_;
    }

private:
    TextPlace place(std::size_t column) const { return csv_place(table_.name, table_.text, row_.cells[column]); }

    std::string listed() const {
        std::string list;
        for (const std::string_view name : names_) {
            if (!name.empty()) list += (list.empty() ? "" : ", ") + quoted(name);
        }
        return list;
    }

    /// A column of the table that an option names.
    std::optional<std::size_t> find(const std::string& theirs, std::string_view option) {
        const auto at = std::ranges::find(names_, trimmed(theirs));
        if (at != names_.end()) return static_cast<std::size_t>(at - names_.begin());
        problems_.push_back(
            {TextPlace{table_.name, 1, 1, {}},
             std::string(option) + " names a column " + quoted(theirs) + ", which the table does not have",
             "one of " + listed(), did_you_mean(theirs, names_)});
        return std::nullopt;
    }

    void map(const std::string& ours, const std::string& theirs) {
        const auto column = find_column(ours);
        if (!column) {
            problems_.push_back({std::monostate(), "--column fills a column " + quoted(ours) + ", which there is not",
                                 one_of(column_names()), did_you_mean(ours, column_names())});
        }
        const auto at = find(theirs, "--column");
        if (!column || !at) return;
        fill(*column, *at);
        used_[*at] = true;
    }

    void fill(std::size_t column, std::size_t at) {
        if (!header_[column]) {
            header_[column] = at;
            return;
        }
        report(problems_, place(at),
               "two columns fill " + quoted(columns[column].name) + ": " + quoted(names_[*header_[column]]) + " and " +
                   quoted(names_[at]),
               "one column for each",
               "--ignore " + quoted(names_[at]) + " leaves one out, --column OURS=NAME gives it another meaning");
    }

    void take(std::size_t at) {
        if (used_[at]) return;
        if (names_[at].empty()) {
            report(problems_, place(at), "column " + std::to_string(at + 1) + " has no name",
                   "a name in the first line", "delete the column if nothing stands in it");
            return;
        }
        if (const auto column = find_column(names_[at])) {
            fill(*column, at);
            return;
        }
        std::string remedy = did_you_mean(names_[at], column_names());
        if (!remedy.empty()) remedy += " ";
        report(problems_, place(at), "there is no column " + quoted(names_[at]), "a column that docs/formats.md names",
               remedy + "--column OURS=" + quoted(names_[at]) + " says which it is, --ignore " + quoted(names_[at]) +
                   " passes over it");
    }

    bool has(std::string_view name) const {
        const auto column = find_column(name);
        return column && header_[*column];
    }

    void check_needed() {
        std::string needed;
        if (!has("id") && !has("name"))
            needed = "\"id\" (ids as they are to be) or \"name\" (names, of which ids are made)";
        const bool whole = !has("entry") && reading_.extends.empty();
        const auto column = [this](std::string_view name) { return has(name); };
        if (whole && std::ranges::none_of(places, column)) {
            needed += std::string(needed.empty() ? "" : "; and ") +
                      "\"at\" (the byte), \"tag\" (the number) or \"path\" (in JSON and XML dumps)";
        }
        if (needed.empty()) return;
        report(problems_, {table_.name, 1, 1, {}}, "needed columns are missing; there are " + listed(), needed,
               way_out(has("id") || has("name") ? "at" : "name"));
    }

    /// How one of the table's columns that nobody explains is made one of ours.
    std::string way_out(const std::string& ours) const {
        for (std::size_t i = 0; i < names_.size(); ++i) {
            if (used_[i] || names_[i].empty() || find_column(names_[i])) continue;
            const std::string theirs = quoted(names_[i]);
            return "--column " + ours + "=" + theirs + " says that the table's column " + theirs + " is our " +
                   quoted(ours);
        }
        return "add a column " + quoted(ours) + " to the table";
    }

    const SourceFile& table_;
    const CsvRow& row_;
    const TableReading& reading_;
    Problems& problems_;
    std::vector<std::string_view> names_;
    std::vector<bool> used_;
    Header header_;
};

}  // namespace

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\n";
    while (!text.empty() && blanks.find(text.front()) != std::string_view::npos) text.remove_prefix(1);
    while (!text.empty() && blanks.find(text.back()) != std::string_view::npos) text.remove_suffix(1);
    return text;
}

Header read_header(const SourceFile& table, const CsvTable& csv, const TableReading& reading, Problems& problems) {
    return HeaderReader(table, csv, reading, problems).read();
}

}  // namespace downfit::schema
