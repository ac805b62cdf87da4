// Values that stand as text in JSON and XML: numbers whatever the locale, words, texts.
//
// Internal to dump/.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>

#include "dump/fields.h"

namespace downfit::dump {

/// The number of a text that stands for none of the storage's words.
inline constexpr std::int64_t no_word = std::numeric_limits<std::int64_t>::min();

/// Reads a value from its text as it stands in the file (quotes and escapes included). Kind::none where there is none
/// (a view without data, null) or where it cannot be taken for what the storage says. Numbers also from within texts;
/// decimal, with exponent, or hexadecimal ("0x1.8p3"); `true` is 1, `false` 0. A number of words keeps its text.
[[nodiscard]] Stored read_text_value(const schema::Storage& storage, ByteView raw);

/// The text to stand in place of `raw` so that read_text_value gives `stored`; nothing where it cannot.  What was
/// written as a text stays one, what was written in hexadecimal too.
[[nodiscard]] std::optional<std::string> write_text_value(const schema::Storage& storage, const Stored& stored,
                                                          ByteView raw);

}  // namespace downfit::dump
