// Texts in Markdown: what comes from dumps and files stays text, whatever it says.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace downfit::report {

/// The text for CommonMark and its GitHub flavour, tables included: printable (report/escape.h), with a backslash
/// before every sign that could begin something (emphasis, code, links, HTML, entities, cells, formulas, footnotes),
/// and mentions and web addresses broken so that nobody is called and nothing is linked. Shown, it is the printable
/// text. It must not begin a line of its own: "1." or "-" there is for the caller to keep off.
[[nodiscard]] std::string markdown_text(std::string_view text);

/// One row of a table, ended. The cells are already Markdown.
void append_markdown_row(std::string& out, const std::vector<std::string>& cells);

/// The row of headings and the line under it.
void append_markdown_head(std::string& out, const std::vector<std::string>& headings);

}  // namespace downfit::report
