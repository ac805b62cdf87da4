// Rows of a release table to entries of a release file. For the sources of schema/ only.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "base/csv.h"
#include "base/problem.h"
#include "schema/node.h"
#include "schema/table.h"
#include "schema/table_cells.h"
#include "schema/table_header.h"

namespace downfit::schema {

/// A cell that said something, and the JSON in it where it was JSON.
struct SaidBy {
    const CsvCell* cell = nullptr;
    NodePtr json;
};

/// Which cell said what: by JSON Pointer in the release file. Owns the table.
struct TablePlaces {
    std::string file, text;
    CsvTable csv;
    std::map<std::string, SaidBy, std::less<>> said;

    /// The place in the table of a value in the release file; the nearest that encloses it, line 1 where no cell said
    /// it.
    [[nodiscard]] TextPlace find(const std::string& pointer) const;
};

/// A key of an object as part of a JSON Pointer (RFC 6901), with the slash in front.
[[nodiscard]] std::string pointer_step(std::string_view key);

/// Builds the four parts of a release file row by row.
class RowReader {
public:
    RowReader(TablePlaces& places, const Header& header, const TableReading& reading, Problems& problems);

    void read(const CsvRow& row);

    std::shared_ptr<Node> release, lists, groups, parameters;  ///< objects; null for entries that are taken away

private:
    enum class Entry { release, choices, group, parameter };

    [[nodiscard]] CellView view(const CsvRow& row, std::size_t column) const;
    [[nodiscard]] bool filled(const CsvRow& row, std::size_t column) const;
    [[nodiscard]] std::optional<Entry> entry_of(const CsvRow& row);
    [[nodiscard]] std::optional<std::string> id_of(const CsvRow& row, Entry entry);
    [[nodiscard]] std::optional<std::string> made_id(const CsvRow& row);
    void read_release_row(const CsvRow& row, const std::string& id);
    [[nodiscard]] NodePtr read_entry(const CsvRow& row, Entry entry, const std::string& pointer);
    [[nodiscard]] bool removed(const CsvRow& row);
    [[nodiscard]] NodePtr read_choices_row(const CsvRow& row, const std::string& pointer);
    [[nodiscard]] NodePtr read_attributes(const CsvRow& row, bool group, const std::string& pointer);
    void put(Node& object, const Column& column, const NodePtr& value);
    void check_pairs(const CsvRow& row, const Node& object);
    void add_rest(const CsvRow& row, Node& object, const std::string& pointer);
    void tell(const CsvRow& row, std::size_t column, std::string what, std::string expected, std::string remedy = {});
    [[nodiscard]] const CsvCell& cell_at(const CsvRow& row, std::size_t column) const;

    TablePlaces& places_;
    const Header& header_;
    const TableReading& reading_;
    Problems& problems_;
    CellReader cells_;
    std::map<std::string, std::uint32_t> lines_;  // pointer of an entry -> line
};

}  // namespace downfit::schema
