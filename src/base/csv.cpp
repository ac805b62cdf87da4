#include "base/csv.h"

#include <algorithm>
#include <array>

#include "base/text.h"

namespace downfit {

namespace {

struct CellSpot {
    std::uint32_t line = 1;
    std::uint32_t column = 1;
};

/// Moves a spot over the byte at `at`. CRLF, LF and CR each end one line.
void pass(std::string_view text, std::size_t at, CellSpot& spot) {
    const bool half_of_end = text[at] == '\r' && at + 1 < text.size() && text[at + 1] == '\n';
    if ((text[at] == '\n' || text[at] == '\r') && !half_of_end) {
        ++spot.line;
        spot.column = 1;
    } else {
        ++spot.column;
    }
}

/// Bytes of the well-formed UTF-8 sequence at `at` (RFC 3629); 0 where there is none.
std::size_t utf8_length(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) -> unsigned {
        return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0u;
    };
    const auto follows = [&](std::size_t i, unsigned least = 0x80, unsigned most = 0xBF) {
        return byte(i) >= least && byte(i) <= most;
    };
    const unsigned first = byte(0);
    if (first < 0x80) return 1;
    if (first >= 0xC2 && first <= 0xDF) return follows(1) ? 2 : 0;
    if (first >= 0xE0 && first <= 0xEF) {
        const unsigned least = first == 0xE0 ? 0xA0 : 0x80, most = first == 0xED ? 0x9F : 0xBF;
        return follows(1, least, most) && follows(2) ? 3 : 0;
    }
    if (first < 0xF0 || first > 0xF4) return 0;
    const unsigned least = first == 0xF0 ? 0x90 : 0x80, most = first == 0xF4 ? 0x8F : 0xBF;
    return follows(1, least, most) && follows(2) && follows(3) ? 4 : 0;
}

/// What is wrong with the text as bytes.
std::optional<Problem> wrong_bytes(const std::string& file, std::string_view text) {
    const std::string_view head = text.substr(0, 2);
    if (head == "\xFF\xFE" || head == "\xFE\xFF") {
        return Problem{TextPlace{file, 1, 1, {}}, "the table is written in UTF-16", "UTF-8",
                       "save it again as \"CSV UTF-8\""};
    }
    CellSpot spot;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = utf8_length(text, at);
        if (length == 0 || text[at] == '\0') {
            return Problem{TextPlace{file, spot.line, spot.column, {}},
                           length == 0 ? "a byte that is not UTF-8" : "a zero byte", "a table in UTF-8",
                           "save it again as \"CSV UTF-8\""};
        }
        for (std::size_t i = 0; i < length; ++i) pass(text, at + i, spot);
        at += length;
    }
    return std::nullopt;
}

/// The separator that stands most often in the first record.
char find_separator(std::string_view text) {
    constexpr std::array<char, 3> candidates{',', ';', '\t'};
    std::array<std::size_t, candidates.size()> counts{};
    bool quoted = false;
    for (const char c : text) {
        if (c == '"') quoted = !quoted;
        if (quoted) continue;
        if (c == '\n' || c == '\r') break;
        for (std::size_t i = 0; i < candidates.size(); ++i) counts[i] += static_cast<std::size_t>(c == candidates[i]);
    }
    return candidates[static_cast<std::size_t>(std::ranges::max_element(counts) - counts.begin())];
}

class Reader {
public:
    Reader(const std::string& file, std::string_view text, std::size_t start, char separator)
        : file_(file), text_(text), at_(start), separator_(separator) {}

    Result<CsvTable> read() {
        CsvTable table{separator_, {}};
        while (at_ < text_.size()) {
            CsvRow row{{}, spot_.line};
            if (end_of_record()) {
                take_end();
                table.rows.push_back(std::move(row));
                continue;
            }
            if (std::optional<Problem> problem = read_row(row)) return *std::move(problem);
            table.rows.push_back(std::move(row));
        }
        return table;
    }

private:
    bool more() const { return at_ < text_.size(); }
    bool end_of_record() const { return text_[at_] == '\n' || text_[at_] == '\r'; }
    void step() { pass(text_, at_++, spot_); }
    void take_end() {
        const bool two = text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n';
        step();
        if (two) step();
    }
    Problem problem(std::string what, std::string expected, std::string remedy) const {
        return {TextPlace{file_, spot_.line, spot_.column, {}}, std::move(what), std::move(expected),
                std::move(remedy)};
    }

    std::optional<Problem> read_row(CsvRow& row) {
        while (true) {
            CsvCell cell{{}, false, at_, spot_.line, spot_.column};
            if (std::optional<Problem> wrong = read_cell(cell)) return wrong;
            row.cells.push_back(std::move(cell));
            if (!more()) return std::nullopt;
            if (end_of_record()) {
                take_end();
                return std::nullopt;
            }
            step();  // the separator
        }
    }

    std::optional<Problem> read_cell(CsvCell& cell) {
        cell.quoted = more() && text_[at_] == '"';
        if (cell.quoted) return read_quoted(cell);
        while (more() && text_[at_] != separator_ && !end_of_record()) {
            if (text_[at_] == '"') {
                return problem("a quote inside a cell that does not begin with one",
                               "quotes around the whole cell, and those inside it doubled (RFC 4180)",
                               cell.text.find_first_not_of(' ') == std::string::npos
                                   ? "take away the blanks before the quote"
                                   : "write it \"...\"\"...\"");
            }
            cell.text += text_[at_];
            step();
        }
        return std::nullopt;
    }

    std::optional<Problem> read_quoted(CsvCell& cell) {
        const CellSpot start = spot_;
        step();
        while (more()) {
            if (text_[at_] == '"') {
                step();
                if (!more() || text_[at_] != '"') return check_behind();
            }
            cell.text += text_[at_];
            step();
        }
        return Problem{TextPlace{file_, start.line, start.column, {}}, "nothing closes this quote",
                       "a quote at the end of the cell",
                       "a quote inside the cell is written twice; the file may also be cut short"};
    }

    std::optional<Problem> check_behind() const {
        if (!more() || text_[at_] == separator_ || end_of_record()) return std::nullopt;
        return problem("something stands behind the closing quote of a cell", "the next cell, or the end of the line",
                       "a quote inside the cell is written twice");
    }

    const std::string& file_;
    std::string_view text_;
    std::size_t at_;
    char separator_;
    CellSpot spot_;
};

bool needs_quotes(std::string_view cell, char separator) {
    if (cell.empty()) return false;
    return cell.find(separator) != std::string_view::npos || cell.find_first_of("\"\r\n") != std::string_view::npos ||
           cell.front() == ' ' || cell.back() == ' ';
}

}  // namespace

Result<CsvTable> read_csv(const std::string& file, std::string_view text, std::optional<char> separator) {
    if (std::optional<Problem> problem = wrong_bytes(file, text)) return *std::move(problem);
    const std::size_t start = text.starts_with(byte_order_mark) ? byte_order_mark.size() : 0;
    return Reader(file, text, start, separator ? *separator : find_separator(text.substr(start))).read();
}

TextPlace csv_place(const std::string& file, std::string_view text, const CsvCell& cell, std::size_t at) {
    CellSpot spot{cell.line, cell.column};
    if (at > cell.text.size()) at = 0;
    std::size_t raw = cell.offset;
    const auto step = [&] { pass(text, raw++, spot); };
    if (at > 0 && cell.quoted) step();
    for (std::size_t i = 0; i < at; ++i) {
        if (cell.quoted && text[raw] == '"') step();
        step();
    }
    return {file, spot.line, spot.column, {}};
}

void append_csv_row(std::string& csv, const std::vector<std::string>& cells, char separator) {
    for (std::size_t i = 0; i < cells.size(); ++i) {
        if (i > 0) csv += separator;
        const bool alone = cells.size() == 1 && cells[i].empty();  // an empty line would be no record
        if (!alone && !needs_quotes(cells[i], separator)) {
            csv += cells[i];
            continue;
        }
        csv += '"';
        for (const char c : cells[i]) csv.append(c == '"' ? 2 : 1, c);
        csv += '"';
    }
    csv += "\r\n";
}

bool starts_like_formula(std::string_view text) {
    constexpr std::array<std::string_view, 11> starts{
        "=",           "+", "-", "@", "\t", "\r", "\n", "\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D",
        "\xEF\xBC\xA0"};  // U+FF1D, U+FF0B, U+FF0D, U+FF20
    return std::ranges::any_of(starts, [&](std::string_view start) { return text.starts_with(start); });
}

}  // namespace downfit
