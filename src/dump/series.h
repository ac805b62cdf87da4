// Series: the messages that make one preset, gathered in the order in which the layout's `preset` list has them.
//
// Internal to dump/. Other messages may stand between; a new first message closes a series that is not finished.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dump/find.h"

namespace downfit::dump {

/// Something wrong with a series as a whole, told at one of its messages.
struct SeriesNote {
    std::size_t member = 0;  ///< index into Series::members
    bool after = false;      ///< the place is the end of that message, not its start
    std::string what;
    std::string expected;
    bool about_slot = false;  ///< contradicting slot numbers: the payloads are all there
    bool holds_data = true;   ///< the message in question carries data; where it is missing, what follows has moved
};

/// What was gathered. Members are indices into the framing's readings.
struct Series {
    std::vector<std::size_t> members;
    std::optional<std::int64_t> slot;
    Trust trust = Trust::none;
    std::vector<SeriesNote> notes;  ///< missing, doubled, misplaced messages; contradicting slots and part numbers
    bool lacks_head = false;        ///< messages before the first member are missing
    bool lacks_tail = false;        ///< messages after the last member are missing
};

/// The messages that make one preset, or one image.
[[nodiscard]] const std::vector<schema::AssemblyPart>& assembly_of(const schema::Framing& framing);

/// Whether a message of that pattern belongs to presets or images at all.
[[nodiscard]] bool in_preset(const schema::Framing& framing, std::size_t pattern);

/// Whether a message of that pattern stands before all presets and speaks of all of them.
[[nodiscard]] bool in_header(const schema::Framing& framing, std::size_t pattern);

/// Whether a message of that pattern stands after all presets.
[[nodiscard]] bool in_end(const schema::Framing& framing, std::size_t pattern);

/// The series that begins with reading `first`. Readings of `taken` items are passed over. Where messages say by
/// address where their data belongs, their order means nothing and the series is all there are.
[[nodiscard]] Series gather(const schema::Framing& framing, const std::vector<Reading>& readings, std::size_t first,
                            const std::vector<bool>& taken);

}  // namespace downfit::dump
