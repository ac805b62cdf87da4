// Where a report goes, and what it looks like there.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>

#include "cli/command.h"
#include "report/layout.h"

namespace downfit::cli {

/// The words that --format takes, the first if left out.
using Formats = std::span<const std::string_view>;
inline constexpr std::array<std::string_view, 2> text_and_json{"text", "json"};
inline constexpr std::array<std::string_view, 3> with_markdown{"text", "json", "markdown"};

/// Declares --format, --output, --force and what declare_style does.
void declare_output(options::options_description_easy_init& add, Formats formats = text_and_json);

/// Declares --width and --color.
void declare_style(options::options_description_easy_init& add);

enum class Format { text, json, markdown };

struct Output {
    Format format = Format::text;
    report::Style style;
    std::string file;  ///< empty: standard output
    bool force = false;
};

/// What was asked for. `inputs` are files that the report must not replace.
[[nodiscard]] Result<Output> find_output(const Call& call, const std::vector<std::string>& inputs,
                                         Formats formats = text_and_json);

/// Writes the report; Exit::within, or tells why not.
[[nodiscard]] Exit deliver(const Call& call, const Output& output, const std::string& text);

}  // namespace downfit::cli
