// Checks and lengths: numbers in a dump that tell something of its other bytes.
//
// Internal to dump/. Both are verified when reading and made anew when writing. Steps of other kinds are passed over.
#pragma once

#include <optional>

#include "dump/steps.h"

namespace downfit::dump {

/// What is wrong with the number of a message's step; `data` is the message's data as that step sees it. Places count
/// from the message's start.
[[nodiscard]] std::optional<StepFailure> verify(const schema::Step& step, const schema::MessagePattern& pattern,
                                                const Captures& captures, ByteView data);

/// What is wrong with the number of a layout's step in `data`.
[[nodiscard]] std::optional<StepFailure> verify(const schema::Step& step, ByteView data);

/// Puts the number of a message's step into its capture.
[[nodiscard]] std::optional<Problem> put(const schema::Step& step, const schema::MessagePattern& pattern,
                                         Captures& captures, ByteView data);

/// Puts the number of a layout's step into its place.
[[nodiscard]] std::optional<Problem> put(const schema::Step& step, Bytes& data);

/// Where the number of a layout's step stands in `size` bytes; nothing for packings and outside.
[[nodiscard]] std::optional<ByteSpan> number_place(const schema::Step& step, std::size_t size);

}  // namespace downfit::dump
