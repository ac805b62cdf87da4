// Options that `schema export` and `schema import` share.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/command.h"

namespace downfit::cli {

/// Declares --separator, --decimal, --out and --force.
void declare_table(options::options_description_easy_init& add, const char* out, const char* separator);

/// How a table is written, as asked.
struct TableOptions {
    std::optional<char> separator;
    bool decimal_comma = false;
    std::string out;
};

/// Reads them; --out is needed, and may name none of the files that are read.
[[nodiscard]] Result<TableOptions> read_table_options(const Call& call, const Command& command,
                                                      const std::vector<std::string>& inputs);

/// Writes --out; Exit::within, or tells why not.
[[nodiscard]] Exit write_out(const Call& call, const std::string& path, const std::string& content);

/// "1 row", "2 rows".
[[nodiscard]] std::string count_of(std::size_t number, const std::string& thing);

}  // namespace downfit::cli
