// Where a report goes, and what it looks like there.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>

#include "cli/command.h"
#include "report/layout.h"

namespace downfit::cli {

/// Declares --format, --output, --force and what declare_style does.
void declare_output(options::options_description_easy_init& add, const char* formats = "text (if left out) or json");

/// Declares --width and --color.
void declare_style(options::options_description_easy_init& add);

/// What a report may look like.
enum class Format { text, json, csv, markdown, junit, sarif, html };

/// Which of them a command knows.
inline constexpr std::array text_and_json{Format::text, Format::json};
inline constexpr std::array all_formats{Format::text,  Format::json,  Format::csv, Format::markdown,
                                        Format::junit, Format::sarif, Format::html};

struct Output {
    Format format = Format::text;
    report::Style style;
    std::string file;  ///< empty: standard output
    bool force = false;
};

/// What was asked for. `inputs` are files that the report must not replace.
/// `formats`: those that the command knows.
[[nodiscard]] Result<Output> find_output(const Call& call, const std::vector<std::string>& inputs,
                                         std::span<const Format> formats = text_and_json);

/// Writes the report; Exit::within, or tells why not.
[[nodiscard]] Exit deliver(const Call& call, const Output& output, const std::string& text);

}  // namespace downfit::cli
