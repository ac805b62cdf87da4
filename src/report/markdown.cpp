#include "report/markdown.h"

#include <algorithm>

#include "report/escape.h"

namespace downfit::report {

namespace {

// CommonMark 0.30, 2.4: any ASCII punctuation may stand behind a backslash.
constexpr std::string_view signs = "\\`*_{}[]<>#|&~$^@";

bool ends_in_www(std::string_view text) {
    if (text.size() < 3) return false;
    return std::ranges::all_of(text.substr(text.size() - 3), [](char c) { return c == 'w' || c == 'W'; });
}

}  // namespace

std::string markdown_text(std::string_view text) {
    std::string escaped;
    const std::string shown = printable(text);
    for (std::size_t i = 0; i < shown.size(); ++i) {
        const char c = shown[i];
        const bool address = c == '.' && ends_in_www(std::string_view(shown).substr(0, i));
        const bool scheme = c == ':' && i + 1 < shown.size() && shown[i + 1] != ' ';
        if (signs.find(c) != std::string_view::npos || address || scheme) escaped += '\\';
        escaped += c;
        // Mentions are looked for in what is shown, where the backslash is gone: common practice, no source.
        if (c == '@') escaped += "<!-- -->";
    }
    return escaped;
}

void append_markdown_row(std::string& out, const std::vector<std::string>& cells) {
    for (const std::string& cell : cells) out += "| " + cell + (cell.empty() ? "" : " ");
    out += "|\n";
}

void append_markdown_head(std::string& out, const std::vector<std::string>& headings) {
    append_markdown_row(out, headings);
    append_markdown_row(out, std::vector<std::string>(headings.size(), "---"));
}

}  // namespace downfit::report
