// One cell of a release table: text to JSON and back. For the sources of schema/ only.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "base/csv.h"
#include "base/problem.h"
#include "schema/node.h"
#include "schema/table_columns.h"

namespace downfit::schema {

/// How numbers are written in cells.
struct NumberForm {
    bool decimal_comma = false;
    bool hexadecimal = false;  ///< places and tags without a mark
};

/// A cell to read, without the blanks around it. `table` and `cell` say where it stands; null: nowhere.
struct CellView {
    std::string_view text;
    const std::string* file = nullptr;
    std::string_view table = {};
    const CsvCell* cell = nullptr;

    /// The place of a byte of `text`.
    [[nodiscard]] TextPlace place(std::size_t at = 0) const;
};

/// What the rest of the row says of a cell.
struct RowFacts {
    bool group = false;             ///< it describes a group
    bool has_choices = false;       ///< labels are expected
    std::string_view choices = {};  ///< the cell with the row's choices
};

/// Reads cells; what is wrong goes to a list.
class CellReader {
public:
    CellReader(const NumberForm& form, Problems& problems) : form_(form), problems_(problems) {}

    /// The value in a cell that is not empty; null where it makes no sense, which is then told.
    [[nodiscard]] NodePtr read(const Column& column, const CellView& cell, const RowFacts& row) const;

    /// A text: plain, or in JSON's quotes.
    [[nodiscard]] NodePtr read_text(const CellView& cell) const;
    /// What release_cell wrote.
    [[nodiscard]] NodePtr read_release(const CellView& cell) const;
    /// Any JSON; places in the nodes are those inside the cell's text.
    [[nodiscard]] NodePtr read_json(const CellView& cell) const;

private:
    [[nodiscard]] NodePtr read_word(const Column& column, const CellView& cell, bool group) const;
    [[nodiscard]] NodePtr read_number(const Column& column, const CellView& cell) const;
    [[nodiscard]] NodePtr read_address(const Column& column, const CellView& cell) const;
    [[nodiscard]] NodePtr read_setting(const Column& column, const CellView& cell, const RowFacts& row) const;
    [[nodiscard]] NodePtr read_numbers(const Column& column, const CellView& cell) const;
    [[nodiscard]] NodePtr read_choices(const CellView& cell) const;
    NodePtr wrong(const CellView& cell, std::size_t at, std::string what, std::string expected,
                  std::string remedy = {}) const;

    NumberForm form_;
    Problems& problems_;
};

/// The cell that says what a key of the release says: a text as one, anything else as JSON.
[[nodiscard]] std::string release_cell(const Node& value);

/// The cell that says a value, or nothing where that column cannot. Never one that a spreadsheet takes for a formula.
[[nodiscard]] std::optional<std::string> write_cell(const Column& column, const Node& value, const NumberForm& form);

/// A text as a cell: as it is where it begins with a letter and nothing else could be read from it, else in JSON's
/// quotes.
[[nodiscard]] std::string text_cell(std::string_view text);

}  // namespace downfit::schema
