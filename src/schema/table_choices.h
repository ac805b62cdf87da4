// Choices in one cell of a release table: "Room; Hall" or "0=Room; 4=Hall". For the sources of schema/ only.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "schema/node.h"

namespace downfit::schema {

/// What such a cell says, or where and how it makes no sense.
struct ReadChoices {
    NodePtr node;  ///< a list of labels, or an object of labels and numbers; null where it makes no sense
    std::size_t at = 0;
    std::string what, expected, remedy;
};

/// Reads it. Between the choices stand line breaks, else semicolons, else "|", else commas; before each label perhaps
/// its number and "=", or ":" and a blank: before all of them or none.
[[nodiscard]] ReadChoices read_choice_text(std::string_view text);

/// Whether one of the choices in such a cell (or in its JSON) has that label.
[[nodiscard]] bool has_choice(std::string_view cell, std::string_view label);

/// The cell that says these choices, where it reads back as the same; never one that begins like a formula.
[[nodiscard]] std::optional<std::string> choice_text(const Node& choices);

/// The offset of a line and column (both from 1) in a text.
[[nodiscard]] std::size_t offset_of(std::string_view text, std::size_t line, std::size_t column);

}  // namespace downfit::schema
