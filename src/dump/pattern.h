// Message patterns: whether a message has the form that a layout describes, and what stands in its captures.
//
// For dump/, and for study/, which asks where a capture stands. A message is given whole, F0 and F7 included, real-time
// bytes taken out.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "base/bytes.h"
#include "schema/layout.h"

namespace downfit::dump {

inline constexpr std::uint8_t first_status = 0x80;  ///< a byte of data is less

/// Bytes as sent, one element for each part of the pattern that is not a literal, in order.
using Captures = std::vector<Bytes>;

/// The captures of `message`, or nullopt where it has another form.
[[nodiscard]] std::optional<Captures> match(const schema::MessagePattern& pattern, ByteView message);

/// The same for a message that ended early: every byte there is must fit the pattern's beginning. Captures that were
/// not reached are missing at the end; one that was cut is left out.
[[nodiscard]] std::optional<Captures> match_beginning(const schema::MessagePattern& pattern, ByteView message);

/// The message again. `captures` must be complete.
[[nodiscard]] Bytes build(const schema::MessagePattern& pattern, const Captures& captures);

/// How many bytes of the pattern are literal: of several patterns that match, the one with most says most.
[[nodiscard]] std::size_t literal_count(const schema::MessagePattern& pattern);

/// Whether the pattern has a part `{name...}`.
[[nodiscard]] bool has_rest(const schema::MessagePattern& pattern);

/// A capture of a pattern: its part, and its index among the captures.
struct CapturePlace {
    const schema::PatternPart* part = nullptr;
    std::size_t index = 0;
};

/// Where the capture of that name is, or nullopt.
[[nodiscard]] std::optional<CapturePlace> find_capture(const schema::MessagePattern& pattern, std::string_view name);

/// How many bytes of the message stand before that capture.
[[nodiscard]] std::size_t capture_offset(const schema::MessagePattern& pattern, const Captures& captures,
                                         std::size_t index);

/// The number in seven-bit bytes, in the part's order; nullopt for more than nine bytes.
[[nodiscard]] std::optional<std::int64_t> capture_number(const schema::PatternPart& part, ByteView bytes);

/// The number that the capture of that name holds, where the pattern has it and `captures` reaches it.
[[nodiscard]] std::optional<std::int64_t> named_number(const schema::MessagePattern& pattern, const Captures& captures,
                                                       std::string_view name);

}  // namespace downfit::dump
