// Steps: packings undone and checks compared when reading, done again and recomputed when writing.
//
// Internal to dump/. Reading takes the steps in their order, writing backwards.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "base/problem.h"
#include "base/result.h"
#include "dump/pattern.h"
#include "midi/packing.h"
#include "schema/layout.h"

namespace downfit::dump {

/// The packing that a step names, with its settings.
[[nodiscard]] midi::Packing packing_of(const schema::UnpackStep& step);

/// A step that failed. `at` and `length` are bytes of what the steps were given: the whole message (F0 included) for a
/// message's steps, the joined data for a layout's.
struct StepFailure {
    std::size_t at = 0;
    std::size_t length = 0;
    std::string what;
    std::string expected;
    bool is_check = false;         ///< a check or length differs; otherwise the data could not be unpacked
    std::size_t step = 0;          ///< index of the step
    std::vector<ByteSpan> covers;  ///< of a layout's check: the bytes it speaks of, in the data as that step sees it
};

/// What reading steps gave.
struct StepResult {
    Bytes data;
    bool unpacked = true;  ///< false: `data` is what was had before the step that failed
    std::vector<StepFailure> failures;
    midi::Origins origins;  ///< of `data`, into the data that came in; only where asked for
};

/// Runs a message's steps on its captures. `data` of the result is the payload (empty without a `data` capture).
[[nodiscard]] StepResult read_message_steps(const schema::MessagePattern& pattern, const Captures& captures,
                                            bool with_origins = false);

/// Runs a layout's steps on the joined data.
[[nodiscard]] StepResult read_layout_steps(const std::vector<schema::Step>& steps, ByteView joined,
                                           bool with_origins = false);

/// Puts `payload` and the checks and lengths over it into `captures`. Where `as_sent` is given and not empty it is
/// taken for the packed `payload`, and only the checks are made anew.
[[nodiscard]] Result<Captures> write_message_steps(const schema::MessagePattern& pattern, Captures captures,
                                                   const Bytes& payload, const Bytes* as_sent = nullptr);

/// The joined data that holds `body`, with its checks and lengths recomputed.
[[nodiscard]] Result<Bytes> write_layout_steps(const std::vector<schema::Step>& steps, const Bytes& body);

/// Whether a message's steps check that capture, and so tell a changed one.
[[nodiscard]] bool checks_capture(const schema::MessagePattern& pattern, std::string_view name);

/// Whether a layer that cannot be read is among the steps.
[[nodiscard]] bool is_encrypted(const schema::Step& step);

/// A length that reaches to the end, however far that is.
inline constexpr std::size_t open_length = static_cast<std::size_t>(-1);

/// The bytes after all steps that can be wrong where bytes `span` of what step `first` sees are wrong. Exact where a
/// packing keeps bytes apart, else more; a span of open length stays open.
[[nodiscard]] ByteSpan carried(const std::vector<schema::Step>& steps, std::size_t first, ByteSpan span);

/// Whether any of the steps is a packing.
[[nodiscard]] bool packs(const std::vector<schema::Step>& steps);

/// Whether any of the steps can change the number of bytes in ways that depend on their content.
[[nodiscard]] bool length_varies(const std::vector<schema::Step>& steps);

/// A place as written (negative from the end) in `size` bytes; `end_if_zero` for the end of a region. Nullopt outside.
[[nodiscard]] std::optional<std::size_t> place_in(std::int64_t place, std::size_t size, bool end_if_zero);

}  // namespace downfit::dump
