// The columns of a release table, as one list that reading, writing and messages share. For the sources of schema/
// only.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace downfit::schema {

/// How a cell says its value.
enum class Shape : std::uint8_t {
    special,  ///< says something about the row
    text,
    number,
    address,  ///< a whole number, perhaps hexadecimal; or JSON
    setting,  ///< a number, true or false, or a label
    json,
    least,    ///< first of a pair of numbers
    most,     ///< second of a pair
    numbers,  ///< several numbers
    choices,
};

/// One column. `key` is the key of the entry that it fills, `inner` the key inside that, where it is an object's.
struct Column {
    std::string_view name;
    std::string_view key;
    std::string_view inner;
    Shape shape = Shape::special;
};

inline constexpr std::array columns{
    Column{"release", "", "", Shape::special},
    Column{"entry", "", "", Shape::special},
    Column{"id", "", "", Shape::special},
    Column{"group", "", "", Shape::special},
    Column{"name", "", "", Shape::special},
    Column{"removed", "", "", Shape::special},
    Column{"title", "title", "", Shape::text},
    Column{"renamed-from", "renamed-from", "", Shape::text},
    Column{"tag", "tag", "", Shape::address},
    Column{"at", "at", "", Shape::address},
    Column{"path", "path", "", Shape::text},
    Column{"by", "by", "", Shape::text},
    Column{"keys", "keys", "", Shape::json},
    Column{"version", "version", "", Shape::text},
    Column{"count", "count", "", Shape::number},
    Column{"stride", "stride", "", Shape::number},
    Column{"as", "as", "", Shape::text},
    Column{"order", "order", "", Shape::text},
    Column{"bit", "bit", "", Shape::number},
    Column{"width", "width", "", Shape::number},
    Column{"signed", "signed", "", Shape::text},
    Column{"length", "length", "", Shape::number},
    Column{"encoding", "encoding", "", Shape::text},
    Column{"padding", "padding", "", Shape::text},
    Column{"kind", "kind", "", Shape::text},
    Column{"unit", "unit", "", Shape::text},
    Column{"minimum", "range", "", Shape::least},
    Column{"maximum", "range", "", Shape::most},
    Column{"plays-minimum", "plays", "", Shape::least},
    Column{"plays-maximum", "plays", "", Shape::most},
    Column{"step", "step", "", Shape::number},
    Column{"default", "default", "", Shape::setting},
    Column{"neutral", "neutral", "", Shape::setting},
    Column{"scale-stored", "scale", "stored", Shape::numbers},
    Column{"scale-value", "scale", "value", Shape::numbers},
    Column{"scale-taper", "scale", "taper", Shape::text},
    Column{"scale-curve", "scale", "curve", Shape::number},
    Column{"choices", "choices", "", Shape::choices},
    Column{"choice-list", "choices", "", Shape::text},
    Column{"on", "on", "", Shape::number},
    Column{"written", "written", "", Shape::json},
    Column{"refers-to", "refers-to", "", Shape::text},
    Column{"refers-by", "refers-by", "", Shape::text},
    Column{"nothing", "nothing", "", Shape::number},
    Column{"role", "role", "", Shape::text},
    Column{"scope", "scope", "", Shape::text},
    Column{"overrides", "overrides", "", Shape::text},
    Column{"as-base", "as-base", "", Shape::number},
    Column{"on-by", "on-by", "", Shape::text},
    Column{"selected-by", "selected-by", "", Shape::text},
    Column{"start-by", "start-by", "", Shape::text},
    Column{"controls", "controls", "", Shape::text},
    Column{"heel", "heel", "", Shape::text},
    Column{"toe", "toe", "", Shape::text},
    Column{"count-by", "count-by", "", Shape::text},
    Column{"like", "like", "", Shape::text},
    Column{"version-at-most", "version-at-most", "", Shape::number},
    Column{"when", "when", "", Shape::json},
    Column{"varies", "varies", "", Shape::json},
    Column{"reads", "reads", "", Shape::json},
    Column{"list", "list", "", Shape::json},
    Column{"records", "records", "", Shape::json},
    Column{"cost", "cost", "", Shape::json},
    Column{"rules", "rules", "", Shape::json},
    Column{"in", "in", "", Shape::json},
    Column{"true-to-device", "true-to-device", "", Shape::json},
    Column{"documented", "documented", "", Shape::text},
    Column{"source", "source", "", Shape::text},
    Column{"note", "note", "", Shape::text},
    Column{"json", "", "", Shape::special},
};

/// The index of the column of that name: in any case, with blanks or "_" for "-", also "min", "max", "parameter" and
/// "address".
[[nodiscard]] std::optional<std::size_t> find_column(std::string_view name);

/// The same of a name that is known to be there.
[[nodiscard]] consteval std::size_t column_index(std::string_view name) {
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (columns[i].name == name) return i;
    }
    throw "no such column";
}

/// The words that a column may hold, of a parameter or a group; empty where any text may stand.
[[nodiscard]] std::span<const std::string_view> column_words(std::string_view column, bool group);

/// Names of all columns.
[[nodiscard]] std::span<const std::string_view> column_names();

}  // namespace downfit::schema
