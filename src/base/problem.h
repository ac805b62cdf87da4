// Problem: something wrong with an input, as data. Rendering it is the business of report/.
#pragma once

#include <cstddef>
#include <string>
#include <variant>
#include <vector>

namespace downfit {

/// A place in a text file. `line` and `column` count from 1 (columns in bytes); `pointer` is the JSON
/// Pointer (RFC 6901) of the value meant, empty for the whole document or where there is none.
struct TextPlace {
    std::string file;
    std::size_t line = 0;
    std::size_t column = 0;
    std::string pointer;

    bool operator==(const TextPlace&) const = default;
};

/// A place in a binary file. `offset` counts from 0; `slot` is the preset's slot as the dump numbers it,
/// -1 where no slot is concerned.
struct BytePlace {
    std::string file;
    std::size_t offset = 0;
    std::size_t length = 0;
    int slot = -1;

    bool operator==(const BytePlace&) const = default;
};

/// No place, a whole file (a string), a place in a text, or a place in bytes.
using Place = std::variant<std::monostate, std::string, TextPlace, BytePlace>;

/// One thing wrong. Owns all its text.
struct Problem {
    Place place;
    std::string what;      ///< what is wrong, one sentence without a full stop
    std::string expected;  ///< what was expected there; may be empty
    std::string remedy;    ///< what to do ("did you mean \"range\"?"); may be empty

    bool operator==(const Problem&) const = default;
};

using Problems = std::vector<Problem>;

}  // namespace downfit
