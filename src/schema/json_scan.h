// Where the tokens of a JSON text stand, and where its grammar breaks. For located_json.cpp only.
//
// The parser proper is a library's; it keeps no places and explains itself in the words of parsers. This pass over the
// same text adds both. It looks into texts (strings) only as far as needed to find their ends.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schema/node.h"

namespace downfit::schema {

/// The start of a key, a number, a text, a word or an opening bracket.
struct Token {
    std::size_t offset = 0;
    Spot spot;
};

/// Where and how the grammar breaks first.
struct SyntaxFault {
    Spot spot;
    std::string what;
    std::string expected;
    std::string remedy;
};

struct Scan {
    std::vector<Token> tokens;  ///< in order: one for each key, each value and each opening bracket
    std::optional<SyntaxFault> fault;
};

/// Scans JSON with `//` and `/* */` comments; a byte order mark at the start is passed over. Stops at the first fault.
[[nodiscard]] Scan scan_json(std::string_view text);

/// The spot of a byte of the text.
[[nodiscard]] Spot spot_of(std::string_view text, std::size_t offset);

}  // namespace downfit::schema
