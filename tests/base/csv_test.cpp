// Tables as text: places, damage, what is written. tests/base/csv_crosscheck.py holds the cells against Python's csv.
#include "base/csv.h"

#include <string>
#include <vector>

#include "support/catch.h"
#include "support/property.h"

namespace downfit::testing {

namespace {

std::vector<std::vector<std::string>> cells_of(const CsvTable& table) {
    std::vector<std::vector<std::string>> rows;
    for (const CsvRow& row : table.rows) {
        rows.emplace_back();
        for (const CsvCell& cell : row.cells) rows.back().push_back(cell.text);
    }
    return rows;
}

Problem problem_of(const std::string& text) {
    const Result<CsvTable> read = read_csv("t.csv", text);
    REQUIRE_FALSE(read.ok());
    REQUIRE(read.problems().size() == 1);
    return read.problems().front();
}

TextPlace at(std::size_t line, std::size_t column) {
    return {"t.csv", line, column, {}};
}

}  // namespace

TEST_CASE("csv: cells know where they stand", "[csv]") {
    const std::string text = "\xEF\xBB\xBFid;note\r\n\r\n\"a\"\"b\nc\";x\r;\"\"";
    const CsvTable table = read_csv("t.csv", text).value();
    CHECK(table.separator == ';');
    REQUIRE(cells_of(table) == std::vector<std::vector<std::string>>{{"id", "note"}, {}, {"a\"b\nc", "x"}, {"", ""}});
    CHECK(csv_place("t.csv", text, table.rows[0].cells[1]) == at(1, 4));
    const CsvCell& quoted = table.rows[2].cells[0];
    CHECK(quoted.quoted);
    CHECK(csv_place("t.csv", text, quoted) == at(3, 1));
    CHECK(csv_place("t.csv", text, quoted, 1) == at(3, 3));  // the doubled quote
    CHECK(csv_place("t.csv", text, quoted, 2) == at(3, 5));
    CHECK(csv_place("t.csv", text, quoted, 4) == at(4, 1));
    CHECK(csv_place("t.csv", text, table.rows[2].cells[1]) == at(4, 4));
    CHECK(csv_place("t.csv", text, table.rows[3].cells[1]) == at(5, 2));
    CHECK_FALSE(table.rows[3].cells[0].quoted);
    CHECK(table.rows[3].cells[1].quoted);
}

TEST_CASE("csv: the separator is found in the first record", "[csv]") {
    CHECK(read_csv("t.csv", "a,b;c,d\n").value().separator == ',');
    CHECK(read_csv("t.csv", "a;b\n1,5;2,5;3,5\n").value().separator == ';');
    CHECK(read_csv("t.csv", "\"a,b,c,d\"\te\tf\n").value().separator == '\t');
    CHECK(read_csv("t.csv", "a\n").value().separator == ',');
    CHECK(read_csv("t.csv", "a,b\n", ';').value().rows[0].cells.size() == 1);
}

TEST_CASE("csv: damage is told with its place", "[csv]") {
    CHECK(problem_of("a,b\n\"x,y\nz").place == Place(at(2, 1)));
    CHECK(problem_of("a,b\n\"x\"y,z").place == Place(at(2, 4)));
    CHECK(problem_of("a,b\nxy\"z\",c").place == Place(at(2, 3)));
    CHECK(problem_of("a, \"b\"").remedy == "take away the blanks before the quote");
    CHECK(problem_of("a,b\nx,\xE9").what == "a byte that is not UTF-8");
    CHECK(problem_of("a,b\nx,\xE9").place == Place(at(2, 3)));
    CHECK(problem_of("\xFF\xFE"
                     "a")
              .what == "the table is written in UTF-16");
    CHECK(problem_of(std::string("a\0b", 3)).what == "a zero byte");
    for (const std::string wrong : {"\xC0\x80", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xE2\x82"}) {
        CAPTURE(wrong);
        CHECK(problem_of(wrong).what == "a byte that is not UTF-8");  // RFC 3629: overlong, surrogate, beyond, cut
    }
    CHECK(read_csv("t.csv", "\xF4\x8F\xBF\xBF,\xED\x9F\xBF\n").ok());
    CHECK(read_csv("t.csv", "").value().rows.empty());
}

TEST_CASE("csv: what is written reads as the same", "[csv]") {
    std::string one;
    append_csv_row(one, {"a", "b,c", "d\"e", "f\ng", "", " h", "i "});
    CHECK(one == "a,\"b,c\",\"d\"\"e\",\"f\ng\",,\" h\",\"i \"\r\n");
    std::string empty;
    append_csv_row(empty, {""});
    CHECK(empty == "\"\"\r\n");
    holds("any cells of ASCII", [] {
        const auto rows = *rc::gen::container<std::vector<std::vector<std::string>>>(
            rc::gen::nonEmpty(rc::gen::container<std::vector<std::string>>(
                rc::gen::container<std::string>(rc::gen::elementOf(std::string("ab,;\t\"\r\n =-'"))))));
        for (const char separator : {',', ';', '\t'}) {
            std::string text;
            for (const auto& row : rows) append_csv_row(text, row, separator);
            const Result<CsvTable> read = read_csv("t.csv", text, separator);
            RC_ASSERT(read.ok());
            RC_ASSERT(cells_of(read.value()) == rows);
        }
    });
}

// OWASP ASVS 5.0, 1.2.10, and OWASP "CSV Injection".
TEST_CASE("csv: texts that look like formulas", "[csv]") {
    for (const std::string text : {"=1", "+1", "-1", "@a", "\ta", "\ra", "\na", "＝1", "＋1", "－1", "＠a"})
        CHECK(starts_like_formula(text));
    for (const std::string text : {"", "a=1", "1", "'=1", "\"=1", " =1", "é"}) CHECK_FALSE(starts_like_formula(text));
}

}  // namespace downfit::testing
