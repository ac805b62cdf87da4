// Finding: every System Exclusive message of a file as each framing of a device understands it, damaged ones as far as
// possible.
//
// Internal to dump/.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/bytes.h"
#include "dump/steps.h"
#include "midi/sysex.h"
#include "schema/device.h"

namespace downfit::dump {

/// How far the slot in a message can be believed.
enum class Trust : std::uint8_t {
    none,       ///< its check fails, it is damaged or holds real-time bytes, or the device has no such slot
    unchecked,  ///< no check covers the slot
    checked,    ///< the check over the slot holds
};

/// One message as one framing understands it.
struct Reading {
    std::size_t item = 0;     ///< index into the file's items
    std::size_t pattern = 0;  ///< index into Framing::messages
    Captures captures;        ///< of a damaged message: those that were reached
    bool whole = true;        ///< a whole message of that form
    std::optional<std::int64_t> slot, part, parts;
    Trust trust = Trust::none;
    Bytes payload;
    bool unpacked = true;
    std::vector<StepFailure> failures;  ///< of its steps; of a damaged message one that says what is wrong with it

    [[nodiscard]] bool sound() const { return whole && failures.empty(); }
};

/// A file cut into items, and its readings by framing, in file order.
struct Findings {
    std::vector<midi::Item> items;
    std::vector<std::vector<Reading>> readings;     ///< one list for each framing of the device
    std::vector<std::vector<std::size_t>> headers;  ///< of each framing: which readings are sound headers, rising
};

/// Framings for which `wanted` says false have no readings; an empty `wanted` wants all.
[[nodiscard]] Findings find_messages(ByteView bytes, const schema::Device& device,
                                     const std::vector<bool>& wanted = {});

/// How many bytes of the file are whole messages that a framing of the device knows.
[[nodiscard]] std::size_t known_bytes(const std::vector<midi::Item>& items, const schema::Device& device,
                                      const std::vector<bool>& wanted = {});

/// Which framings the layout of that name has in any release; all for an empty name.
[[nodiscard]] std::vector<bool> framings_of(const schema::Device& device, std::string_view layout);

/// Where byte `index` of a whole message (F0 is 0) stands in the file.
[[nodiscard]] std::size_t file_offset(const midi::Item& item, std::size_t index);

/// How many slots there are for what the framing holds: the most of any release; 0 where nothing numbers them.
[[nodiscard]] int slot_count(const schema::Device& device, const schema::Framing& framing);

}  // namespace downfit::dump
