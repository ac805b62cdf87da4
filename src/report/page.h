// Pages: one self-contained HTML file that loads nothing, readable without its script.
#pragma once

#include <string>
#include <string_view>

namespace downfit::report {

/// The text for HTML, in elements and in attributes with double quotes: printable (report/escape.h), with references
/// for & < > " and '.
[[nodiscard]] std::string html_text(std::string_view text);

/// A whole page: head with a content security policy that allows this style and this script and nothing else, then
/// `body`, which must be HTML, then the script.
[[nodiscard]] std::string page(std::string_view title, std::string_view body);

/// The style and the script that every page carries.
[[nodiscard]] std::string_view page_style();
[[nodiscard]] std::string_view page_script();

}  // namespace downfit::report
