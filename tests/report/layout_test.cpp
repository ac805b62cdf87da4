// Columns, wrapping, ranges, colours; and problems as text.
#include "report/layout.h"

#include <string>
#include <vector>

#include "base/limits.h"
#include "report/problems.h"
#include "support/catch.h"

namespace downfit::report {

namespace {

std::string wrapped(const std::string& text, std::size_t width, std::size_t indent, std::size_t hang) {
    std::string out;
    append_wrapped(out, text, width, indent, hang);
    return out;
}

}  // namespace

TEST_CASE("texts are cut and filled by columns, not bytes", "[report]") {
    CHECK(columns("Caf\xC3\xA9") == 4);
    CHECK(columns("e\xCC\x81") == 1);
    CHECK(left("Caf\xC3\xA9", 6) == "Caf\xC3\xA9  ");
    CHECK(right("7", 3) == "  7");
    CHECK(cut("Ferry Lights", 8) == "Ferry...");
    CHECK(cut("Ferry", 5) == "Ferry");
    CHECK(cut("\xE6\xB8\xA1\xE3\x81\x97\xE8\x88\xB9", 5) == "\xE6\xB8\xA1...");
    CHECK(left("\xE6\xB8\xA1\xE3\x81\x97\xE8\x88\xB9", 4) == "... ");
    CHECK(cut("abc", 2) == "..");
}

TEST_CASE("lines are wrapped at spaces with a hanging indent", "[report]") {
    CHECK(wrapped("one two three", 7, 0, 2) == "one two\n  three\n");
    CHECK(wrapped("one two three", 100, 4, 2) == "    one two three\n");
    CHECK(wrapped("a-word-much-too-long b", 8, 2, 4) == "  a-word-much-too-long\n    b\n");
    CHECK(wrapped("", 8, 2, 4) == "\n");
}

TEST_CASE("long texts are shortened and say so", "[report]") {
    const std::string whole(limits::widest_text, 'x');
    CHECK(brief(whole) == whole);
    CHECK(brief(whole + "x") == std::string(limits::widest_text - 3, 'x') + "...");
    CHECK(brief("\x1B[2J") == "\\u{1B}[2J");
    // What is written out counts as it is shown.
    CHECK(columns(brief(std::string(65536, '\x1B'))) == limits::widest_text);
    CHECK(columns(brief_problem(std::string(65536, '\x00'))) == limits::widest_problem);
}

TEST_CASE("numbers in rising order become ranges", "[report]") {
    CHECK(ranges_text({}) == "");
    CHECK(ranges_text({4}) == "4");
    CHECK(ranges_text({1, 2}) == "1, 2");
    CHECK(ranges_text({1, 2, 3, 7, 9, 10, 11, 12}) == "1-3, 7, 9-12");
}

TEST_CASE("colour is only there where it is asked for", "[report]") {
    CHECK(paint("severe", Tone::worst, {80, false}) == "severe");
    CHECK(paint("severe", Tone::worst, {80, true}) == "\x1B[1;31msevere\x1B[0m");
    CHECK(paint("plain", Tone::plain, {80, true}) == "plain");
}

TEST_CASE("problems name their place, what was expected and what to do", "[report]") {
    CHECK(problem_text({TextPlace{"2.10.json", 12, 8, "/parameters/amp.drive/rnge"}, "unknown key \"rnge\"", "",
                        "did you mean \"range\"?"}) ==
          "2.10.json:12:8: unknown key \"rnge\"\n    at /parameters/amp.drive/rnge\n    did you mean \"range\"?\n");
    CHECK(problem_text({BytePlace{"bank.syx", 1034, 4, 11}, "the check differs", "0x12", ""}) ==
          "bank.syx, byte 1034 (0x40A), slot as stored 11: the check differs\n    expected: 0x12\n");
    CHECK(problem_text({std::string("bank.syx"), "there is no such file", "", ""}) ==
          "bank.syx: there is no such file\n");
    CHECK(problem_text({std::monostate(), "no dump is named", "", ""}) == "no dump is named\n");
    CHECK(problem_text({std::string("\x1B]0;x"), "a\nb", "", ""}) == "\\u{1B}]0;x: a\\u{0A}b\n");
    CHECK(problem_line({BytePlace{"bank.syx", 0, 4, 11}, "the check differs", "0x12", "try"}) ==
          "byte 0 (0x0): the check differs (expected: 0x12); try");
}

}  // namespace downfit::report
