// Release files as tables and back (docs/formats.md, "As a table"): for editing in a spreadsheet, and for parameter
// tables copied out of a manual. A table holds what the file says, not what it inherits. Nothing of it is lost but
// comments: what no column can hold stands as JSON in a cell.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/problem.h"
#include "base/result.h"
#include "schema/load.h"

namespace downfit::schema {

/// How a table is written as text.
struct TableForm {
    char separator = ',';
    bool decimal_comma = false;
    bool byte_order_mark = false;
};

/// The table of one release file or several; of several, a first column says of which. Fails, naming file and line,
/// where one is no JSON or no release file. No cell can be taken for a formula by a spreadsheet: texts that might stand
/// in JSON's quotes.
[[nodiscard]] Result<std::string> export_table(std::span<const SourceFile> releases, const TableForm& form);

/// How a table is to be understood.
struct TableReading {
    std::optional<char> separator;  ///< none: found out
    bool decimal_comma = false;
    bool hexadecimal = false;                                  ///< places and tags without a mark
    std::vector<std::pair<std::string, std::string>> columns;  ///< our column, the table's name for it
    std::vector<std::string> ignored;                          ///< columns of the table that are passed over
    std::string release;                               ///< the file's release; of a table with several, which of them
    std::string fallback_device;                       ///< of a table that names none
    std::string device, stamp, extends, date, source;  ///< laid over what the table says; empty: what it says
};

struct TablePlaces;

/// A release file made from a table.
struct ImportedRelease {
    std::string text;  ///< the release file
    std::string device, release;
    std::size_t parameters = 0, groups = 0, choice_lists = 0;  ///< rows that became entries
    std::shared_ptr<const TablePlaces> places;                 ///< which cell said what

    /// Problems of the release file, placed at the cells that they are about. Those of other files are left as they
    /// are; what no cell said is told of the table as a whole.
    [[nodiscard]] Problems in_table(const std::string& release_file, Problems problems) const;
};

/// Whether a JSON text has comments: tables have no place for them.
[[nodiscard]] bool has_comments(std::string_view json);

/// Makes a release file from a table. Fails with everything that is wrong in the table, each with line and column, what
/// was expected and what to do. Whether the release is right as a whole is not judged here: that takes the device.
[[nodiscard]] Result<ImportedRelease> import_table(const SourceFile& table, const TableReading& reading);

/// What the JSON Schema of release files does not allow in the release, placed in the table: for where there is no
/// device to load it with.
[[nodiscard]] Problems check_alone(const ImportedRelease& release, const std::string& release_file);

}  // namespace downfit::schema
