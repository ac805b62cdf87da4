#include "report/outline.h"

#include <algorithm>
#include <numeric>

#include "report/markdown.h"
#include "report/page.h"

namespace downfit::report {

namespace {

constexpr std::size_t gap = 2;
constexpr std::size_t least_first = 12;  ///< columns of a table's first column, where it is cut
constexpr std::size_t least_last = 24;   ///< and of its last

void append_text_line(std::string& out, const OutlineLine& line, const Style& style) {
    std::string lines;
    append_wrapped(lines, (line.item ? "- " : "") + brief_problem(line.text), style.width, line.item ? 2 : 0,
                   line.item ? 4 : 2);
    lines.pop_back();
    out += paint(lines, line.tone, style) + '\n';
}

/// The columns that each column of a table takes, with or without brief cells.
std::vector<std::size_t> widths_of(const OutlineTable& table, bool in_brief) {
    std::vector<std::size_t> widths;
    for (std::size_t i = 0; i < table.heads.size(); ++i) {
        // A brief table's heads are numbers, which a line below explains.
        std::size_t width = in_brief && i > 0 ? std::to_string(i).size() + 2 : columns(brief(table.heads[i]));
        for (const auto& row : table.rows) {
            const OutlineCell& cell = row[i];
            width = std::max(width, columns(brief(in_brief && !cell.brief.empty() ? cell.brief : cell.text)));
        }
        widths.push_back(width);
    }
    return widths;
}

std::size_t total(const std::vector<std::size_t>& widths) {
    return std::accumulate(widths.begin(), widths.end(), std::size_t{0}) + gap * (widths.size() - 1);
}

void append_text_table(std::string& out, const OutlineTable& table, const Style& style) {
    constexpr std::size_t indent = 2;
    const std::size_t room = style.width - indent;
    std::vector<std::size_t> widths = widths_of(table, false);
    if (table.cut_last && total(widths) > room)
        widths.back() -= std::min(widths.back() - std::min(widths.back(), least_last), total(widths) - room);
    const bool in_brief = total(widths) > room;
    if (in_brief) widths = widths_of(table, true);
    if (total(widths) > room) widths[0] -= std::min(widths[0] - std::min(widths[0], least_first), total(widths) - room);
    std::string line(indent, ' '), key;
    for (std::size_t i = 0; i < table.heads.size(); ++i) {
        const std::string number = '(' + std::to_string(i) + ')';
        if (in_brief && i > 0) key += (i == 1 ? "" : ", ") + number + ' ' + brief(table.heads[i]);
        line += left(in_brief && i > 0 ? number : brief(table.heads[i]), widths[i]) + std::string(gap, ' ');
    }
    append_line(out, line);
    for (const auto& row : table.rows) {
        line.assign(indent, ' ');
        for (std::size_t i = 0; i < row.size(); ++i) {
            const std::string& text = in_brief && !row[i].brief.empty() ? row[i].brief : row[i].text;
            const std::string shown = cut(brief(text), widths[i]);
            line += paint(shown, row[i].tone, style) + std::string(widths[i] - columns(shown) + gap, ' ');
        }
        append_line(out, line);
    }
    if (in_brief) append_wrapped(out, key, style.width, indent, indent + 2);
}

void append_markdown_lines(std::string& out, const std::vector<OutlineLine>& lines) {
    for (const OutlineLine& line : lines) {
        const std::string mark = line.tone == Tone::strong || line.tone == Tone::caution ? "**" : "";
        out.append("- ").append(mark).append(markdown_text(brief_problem(line.text))).append(mark).append("\n");
    }
    if (!lines.empty()) out += '\n';
}

void append_markdown_table(std::string& out, const OutlineTable& table) {
    if (table.heads.empty()) return;
    std::vector<std::string> cells;
    for (const std::string& head : table.heads) cells.push_back(markdown_text(brief(head)));
    append_markdown_head(out, cells);
    for (const auto& row : table.rows) {
        cells.clear();
        for (const OutlineCell& cell : row) cells.push_back(markdown_text(brief(cell.text)));
        append_markdown_row(out, cells);
    }
    out += '\n';
}

void append_html_lines(std::string& out, const std::vector<OutlineLine>& lines) {
    bool open = false;
    for (const OutlineLine& line : lines) {
        const bool alarm = line.tone == Tone::caution;
        if (open == alarm) out += open ? "</ul>\n" : "<ul class=\"told\">\n";
        open = !alarm;
        const std::string text = html_text(brief_problem(line.text));
        if (alarm) out += "<p class=\"alarm\">" + text + "</p>\n";
        const std::string of = line.of ? " data-of=\"row-" + std::to_string(*line.of) + '"' : std::string();
        if (!alarm) out += "<li" + of + '>' + (line.tone == Tone::strong ? "<b>" + text + "</b>" : text) + "</li>\n";
    }
    if (open) out += "</ul>\n";
}

/// The marks of a row's cells but the first's, '-' for none.
std::string marks_of(const std::vector<OutlineCell>& row) {
    std::string marks;
    for (std::size_t i = 1; i < row.size(); ++i) marks += row[i].mark == 0 ? '-' : row[i].mark;
    return marks;
}

/// Works by the script of the page (page/script.js), which shows it.
void append_html_form(std::string& out, const OutlineTable& table) {
    out += "<form hidden autocomplete=\"off\">\n<label>Text <input type=\"search\" name=\"text\"></label>\n";
    out += "<label>Judged on <select name=\"on\"><option value=\"\">" + html_text(table.filter->best) + "</option>";
    for (std::size_t i = 1; i < table.heads.size(); ++i)
        out += "<option value=\"" + std::to_string(i - 1) + "\">" + html_text(brief(table.heads[i])) + "</option>";
    out +=
        "</select></label>\n<label>Order <select name=\"sort\"><option value=\"slot\">" +
        html_text(table.filter->order) +
        "</option><option value=\"worst\">worst first</option><option value=\"name\">name</option></select></label>\n"
        "<fieldset><legend>Show</legend>";
    for (const auto& [mark, word] : table.filter->marks) {
        out += std::string("<label><input type=\"checkbox\" name=\"s\" value=\"") + mark + "\" checked> " +
               html_text(word) + "</label>\n";
    }
    out += "</fieldset>\n<output id=\"shown\"></output>\n</form>\n";
}

/// What the script goes by.
std::string row_attributes(const OutlineTable& table, std::size_t number) {
    if (!table.filter) return {};
    const std::string marks = marks_of(table.rows[number]);
    const auto best = std::ranges::find_if(table.filter->marks,
                                           [&](const auto& one) { return marks.find(one.first) != std::string::npos; });
    return " id=\"row-" + std::to_string(number) + "\" data-s=\"" +
           (best == table.filter->marks.end() ? '-' : best->first) + "\" data-on=\"" + marks + "\" data-slot=\"" +
           std::to_string(number + 1) + "\" data-name=\"" + html_text(table.filter->names[number]) + '"';
}

void append_html_table(std::string& out, const OutlineTable& table, const std::string& heading) {
    if (table.heads.empty()) return;
    if (table.filter) append_html_form(out, table);
    out += "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"" + html_text(heading) +
           "\"><table class=\"matrix\">\n<thead><tr>";
    for (const std::string& head : table.heads) out += "<th scope=\"col\">" + html_text(brief(head)) + "</th>";
    out += "</tr></thead>\n<tbody" + std::string(table.filter ? " id=\"presets\"" : "") + ">\n";
    for (std::size_t number = 0; number < table.rows.size(); ++number) {
        const auto& row = table.rows[number];
        out += "<tr" + row_attributes(table, number) + '>';
        for (std::size_t i = 0; i < row.size(); ++i) {
            const std::string text = html_text(brief(row[i].text));
            const std::string tag = i == 0 ? "th" : "td";
            out += '<' + tag + (i == 0 ? " scope=\"row\">" : ">");
            out +=
                row[i].mark == 0 ? text : std::string("<span class=\"mark ") + row[i].mark + "\">" + text + "</span>";
            out += "</" + tag + '>';
        }
        out += "</tr>\n";
    }
    out += "</tbody></table></div>\n";
}

}  // namespace

void append_section_text(std::string& out, const OutlineSection& section, const Style& style) {
    if (!section.heading.empty()) out += '\n' + paint(brief(section.heading), Tone::strong, style) + '\n';
    for (const OutlineLine& line : section.lines) append_text_line(out, line, style);
    if (!section.table.heads.empty()) append_text_table(out, section.table, style);
    for (const OutlineLine& line : section.after) append_text_line(out, line, style);
}

void append_section_markdown(std::string& out, const OutlineSection& section) {
    if (!section.heading.empty()) out += "## " + markdown_text(brief(section.heading)) + "\n\n";
    append_markdown_lines(out, section.lines);
    append_markdown_table(out, section.table);
    append_markdown_lines(out, section.after);
}

void append_section_html(std::string& out, const OutlineSection& section) {
    if (!section.heading.empty()) out += "<h2>" + html_text(brief(section.heading)) + "</h2>\n";
    append_html_lines(out, section.lines);
    append_html_table(out, section.table, section.heading);
    append_html_lines(out, section.after);
}

std::string outline_text(const Outline& outline, bool summary, const Style& style) {
    std::string out;
    append_text_line(out, {outline.title + ':', Tone::strong}, style);
    for (const OutlineSection& section : outline.sections) {
        append_section_text(out, section, style);
        if (summary) break;
    }
    return out;
}

std::string outline_markdown(const Outline& outline, bool summary) {
    std::string out = "# " + markdown_text(brief_problem(outline.title)) + "\n\n";
    for (const OutlineSection& section : outline.sections) {
        append_section_markdown(out, section);
        if (summary) break;
    }
    while (out.ends_with("\n\n")) out.pop_back();
    return out;
}

std::string outline_html(const Outline& outline) {
    std::string out = "<main>\n<h1>" + html_text(brief_problem(outline.title)) + "</h1>\n";
    for (const OutlineSection& section : outline.sections) append_section_html(out, section);
    return page("Downfit: " + brief(outline.title), out + "</main>\n");
}

}  // namespace downfit::report
