// Hostile texts must come out harmless, and harmless ones unchanged.
#include "report/escape.h"

#include <string>
#include <vector>

#include "support/catch.h"
#include "support/property.h"

namespace downfit::report {

TEST_CASE("what is plainly visible stays as it is", "[report]") {
    for (const std::string text : {"", "Ferry Lights", "Caf\xC3\xA9 5\xC2\xBD", "\xE6\xB8\xA1\xE3\x81\x97", "e\xCC\x81",
                                   "\\u{1B}", "\xF0\x9F\x8E\xB8"}) {
        CHECK(printable(text) == text);
    }
}

TEST_CASE("what steers a terminal or deceives the eye becomes visible", "[report]") {
    struct Row {
        std::string text, shown;
    };
    const std::vector<Row> rows{
        {"\x1B[2J", "\\u{1B}[2J"},
        {std::string("a\0b", 3), "a\\u{00}b"},
        {"one\ntwo\r\tthree\x7F", "one\\u{0A}two\\u{0D}\\u{09}three\\u{7F}"},
        {"\xC2\x9B"
         "31m",
         "\\u{9B}31m"},           // C1 control sequence introducer
        {"\xC2\x85", "\\u{85}"},  // next line
        {"\xE2\x80\xAE"
         "gpj.exe",
         "\\u{202E}gpj.exe"},  // right-to-left override
        {"\xE2\x80\xAA\xE2\x80\xAC", "\\u{202A}\\u{202C}"},
        {"\xE2\x81\xA6\xE2\x81\xA9", "\\u{2066}\\u{2069}"},  // isolates
        {"\xE2\x80\x8E\xE2\x80\x8F\xD8\x9C", "\\u{200E}\\u{200F}\\u{61C}"},
        {"\xE2\x80\xA8\xE2\x80\xA9", "\\u{2028}\\u{2029}"},  // separators
        {"a\xE2\x80\x8B"
         "b\xEF\xBB\xBF",
         "a\\u{200B}b\\u{FEFF}"},
        {"\xF3\xA0\x81\x81", "\\u{E0041}"},  // tag
        {"\xFF\xFE", "\\x{FF}\\x{FE}"},
        {"\xC3(", "\\x{C3}("},                                 // cut sequence
        {"\xC0\x80", "\\x{C0}\\x{80}"},                        // overlong
        {"\xED\xA0\x80", "\\x{ED}\\x{A0}\\x{80}"},             // surrogate
        {"\xF4\x90\x80\x80", "\\x{F4}\\x{90}\\x{80}\\x{80}"},  // beyond Unicode
        {"\xE2\x80", "\\x{E2}\\x{80}"},
    };
    for (const Row& row : rows) {
        CAPTURE(row.shown);
        CHECK(printable(row.text) == row.shown);
    }
}

TEST_CASE("a heap of combining marks is cut down", "[report]") {
    const std::string mark = "\xCC\x80";
    CHECK(printable("a" + mark + mark + mark + mark + mark) == "a" + mark + mark + mark + mark + "\\u{300}");
}

TEST_CASE("whatever the bytes, the result is one line of valid UTF-8 without controls", "[report]") {
    testing::holds("for any bytes", [](const std::vector<unsigned char>& bytes) {
        const std::string shown = printable(std::string(bytes.begin(), bytes.end()));
        std::string_view rest = shown;
        while (!rest.empty()) {
            const CodePoint point = first_code_point(rest);
            RC_ASSERT(point.valid);
            RC_ASSERT(point.value >= 0x20 && (point.value < 0x7F || point.value > 0x9F));
            rest.remove_prefix(point.length);
        }
        RC_ASSERT(printable(shown) == shown);
    });
}

TEST_CASE("columns of code points", "[report]") {
    CHECK(columns_of('a') == 1);
    CHECK(columns_of(0xE9) == 1);
    CHECK(columns_of(0x301) == 0);
    CHECK(columns_of(0x6E21) == 2);
    CHECK(columns_of(0xAC00) == 2);
    CHECK(columns_of(0x1F3B8) == 2);
}

}  // namespace downfit::report
