// Outlines: what a report says, in sections of sentences and tables, before it is text, Markdown or a page. For reports
// of which all formats say the same.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "report/layout.h"

namespace downfit::report {

/// A sentence. Its text may come from anywhere: every format makes it safe.
struct OutlineLine {
    std::string text;
    Tone tone = Tone::plain;
    bool item = false;                ///< one of a list
    std::optional<std::size_t> of{};  ///< of a page: goes with that row of the filtered table
};

struct OutlineCell {
    std::string text;
    std::string brief{};  ///< where there is no room for the text; empty: the text, cut
    Tone tone = Tone::plain;
    char mark = 0;  ///< of a page: a standing's letter (report/standing.h), for its shape and colour; 0 for none
};

/// How a page filters and orders the rows of a table by the marks of their cells. At most one table of an outline.
struct OutlineFilter {
    std::vector<std::pair<char, std::string>> marks;  ///< and words for them, best first; '-' stands for no mark
    std::string best;                                 ///< what a row's best cell is called: "the best unit"
    std::string order;                                ///< in which rows stand: "playing order"
    std::vector<std::string> names{};                 ///< of rows, for ordering by name; parallel to them
};

struct OutlineTable {
    std::vector<std::string> heads;  ///< none: there is no table
    std::vector<std::vector<OutlineCell>> rows;
    bool cut_last = false;  ///< the last column is the first to be cut where there is no room
    std::optional<OutlineFilter> filter{};
};

/// Lines, then a table, then more lines.
struct OutlineSection {
    std::string heading;  ///< empty for the first
    std::vector<OutlineLine> lines{};
    OutlineTable table{};
    std::vector<OutlineLine> after{};
};

struct Outline {
    std::string title;
    std::vector<OutlineSection> sections;
};

/// One section in each format, headings and all.
void append_section_text(std::string& out, const OutlineSection& section, const Style& style);
void append_section_markdown(std::string& out, const OutlineSection& section);
void append_section_html(std::string& out, const OutlineSection& section);

/// Only the first section where `summary`.
[[nodiscard]] std::string outline_text(const Outline& outline, bool summary, const Style& style);
[[nodiscard]] std::string outline_markdown(const Outline& outline, bool summary);
/// One self-contained page.
[[nodiscard]] std::string outline_html(const Outline& outline);

}  // namespace downfit::report
