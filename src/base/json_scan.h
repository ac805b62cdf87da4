// Where the tokens of a JSON text stand, and where its grammar breaks.
//
// A parser keeps no places and explains itself in the words of parsers. This pass over the same text adds both. It
// looks into texts (strings) only as far as needed to find their ends. Schema files are read with it, and dumps that
// are JSON.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/limits.h"

namespace downfit {

/// A place in a text, both from 1; columns in bytes.
struct Spot {
    std::uint32_t line = 1;
    std::uint32_t column = 1;

    bool operator==(const Spot&) const = default;
};

/// A key, a number, a text, a word, or a list or an object with all that it holds.
struct Token {
    std::size_t offset = 0;
    Spot spot;
    std::size_t end = 0;  ///< behind its last byte; of a list or an object behind its closing bracket
    int parent = -1;      ///< index of the list or object that it stands in; -1 for the document
    bool key = false;
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
    std::vector<Spot> trailing_commas;  ///< with ScanLimits::trailing_commas: where they stand
};

/// How much is scanned before it is a fault, and what else is allowed.
struct ScanLimits {
    std::size_t depth = limits::deepest_json;
    std::size_t tokens = limits::most_json_values;
    bool trailing_commas = false;  ///< a comma before a closing bracket is passed over
};

/// Scans JSON with `//` and `/* */` comments; a byte order mark at the start is passed over. Stops at the first fault.
[[nodiscard]] Scan scan_json(std::string_view text, const ScanLimits& limits = {});

/// The spot of a byte of the text.
[[nodiscard]] Spot spot_of(std::string_view text, std::size_t offset);

}  // namespace downfit
