// Long texts cut short for messages.
#include <string>

#include "base/text.h"
#include "support/catch.h"

using downfit::beginning_of;

TEST_CASE("text: what is short stays, what is long is cut between characters") {
    CHECK(beginning_of("").empty());
    CHECK(beginning_of(std::string(40, 'x')) == std::string(40, 'x'));
    CHECK(beginning_of(std::string(41, 'x')) == std::string(40, 'x') + "...");
    // Two, three and four bytes a character.
    CHECK(beginning_of("ab\xC3\xA9", 3) == "ab...");
    CHECK(beginning_of("ab\xC3\xA9", 4) == "ab\xC3\xA9");
    CHECK(beginning_of("a\xE2\x82\xACz", 3) == "a...");
    CHECK(beginning_of("a\xE2\x82\xACz", 4) == "a\xE2\x82\xAC...");
    CHECK(beginning_of("\xF0\x9F\x8E\xB8\xF0\x9F\x8E\xB8", 7) == "\xF0\x9F\x8E\xB8...");
    // What is no UTF-8 ends all the same.
    CHECK(beginning_of(std::string(50, '\x80')) == "...");
}
