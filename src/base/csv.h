// Tables as text: RFC 4180, in UTF-8. Text in, cells with their places out; and back.
//
// Written here because no library at hand keeps the place of a cell, which every message about a table needs.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "base/result.h"

namespace downfit {

/// One cell. Owns its text; `offset` is where it starts in the text that was read, its opening quote included.
struct CsvCell {
    std::string text;          ///< what it says: without the quotes around it, doubled ones single
    bool quoted = false;       ///< whether it stood in quotes
    std::size_t offset = 0;    ///< bytes from the start of the text
    std::uint32_t line = 1;    ///< of its start, from 1
    std::uint32_t column = 1;  ///< of its start, from 1, in bytes

    bool operator==(const CsvCell&) const = default;
};

/// One record. An empty line has no cells.
struct CsvRow {
    std::vector<CsvCell> cells;
    std::uint32_t line = 1;

    bool operator==(const CsvRow&) const = default;
};

struct CsvTable {
    char separator = ',';
    std::vector<CsvRow> rows;
};

/// Reads a table: `separator` between cells (none: whichever of comma, semicolon and tab stands most often in the first
/// record outside quotes, the comma where none does), records ended by CRLF, LF or CR, the last perhaps by nothing, a
/// byte order mark at the start passed over. Strict: a quote inside a plain cell, something behind a closing quote, a
/// quote that nothing closes, a zero byte and what is not UTF-8 are problems, told with line and column in `file`; the
/// first of them ends reading. How many cells a record has is for the caller to judge.
[[nodiscard]] Result<CsvTable> read_csv(const std::string& file, std::string_view text,
                                        std::optional<char> separator = std::nullopt);

/// The place of the byte `at` of a cell's text (the cell's own where the text is shorter) in `text`, from which it was
/// read.
[[nodiscard]] TextPlace csv_place(const std::string& file, std::string_view text, const CsvCell& cell,
                                  std::size_t at = 0);

/// Adds one record, ended by CRLF: cells in quotes where RFC 4180 asks for them, and where blanks stand at an end.
void append_csv_row(std::string& csv, const std::vector<std::string>& cells, char separator = ',');

/// Whether a spreadsheet may take a cell with this text for a formula: it starts with = + - @, their full-width forms,
/// a tab, a carriage return or a line feed. (OWASP, "CSV Injection"; ASVS 5, 1.2.10.) Numbers do too where they have a
/// sign.
[[nodiscard]] bool starts_like_formula(std::string_view text);

}  // namespace downfit
