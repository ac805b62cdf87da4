// Which column of a table is which of ours. For the sources of schema/ only.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "base/csv.h"
#include "base/problem.h"
#include "schema/table.h"
#include "schema/table_columns.h"

namespace downfit::schema {

/// For each of our columns, the index of the table's that fills it.
using Header = std::array<std::optional<std::size_t>, columns.size()>;

/// Reads the first record; tells columns that are unknown, named twice, or needed and not there, and options that name
/// none. `text` is what the table was read from.
[[nodiscard]] Header read_header(const SourceFile& table, const CsvTable& csv, const TableReading& reading,
                                 Problems& problems);

/// Text without the blanks around it.
[[nodiscard]] std::string_view trimmed(std::string_view text);

}  // namespace downfit::schema
