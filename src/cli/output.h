// Where a report goes, and what it looks like there.
#pragma once

#include <string>

#include "cli/command.h"
#include "report/layout.h"

namespace downfit::cli {

/// Declares --format, --output, --force and what declare_style does.
void declare_output(options::options_description_easy_init& add, const char* formats = "text (if left out) or json");

/// Declares --width and --color.
void declare_style(options::options_description_easy_init& add);

/// What a report may look like. `contents` and others know the first two.
enum class Format { text, json, csv, markdown, junit, sarif, html };

struct Output {
    Format format = Format::text;
    report::Style style;
    std::string file;  ///< empty: standard output
    bool force = false;
};

/// What was asked for. `inputs` are files that the report must not replace.
/// `formats`: how many of the formats, from the first, the command knows.
[[nodiscard]] Result<Output> find_output(const Call& call, const std::vector<std::string>& inputs,
                                         std::size_t formats = 2);

/// How many formats `check` knows: all.
inline constexpr std::size_t all_formats = 7;

/// Writes the report; Exit::within, or tells why not.
[[nodiscard]] Exit deliver(const Call& call, const Output& output, const std::string& text);

}  // namespace downfit::cli
