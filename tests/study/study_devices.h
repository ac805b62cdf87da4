// Devices for the tests of study/, loaded from texts as users write them, and dumps of them.
#pragma once

#include <string>
#include <vector>

#include "dump/dump.h"
#include "schema/device.h"

namespace downfit::testing {

/// Loads one device from its files' texts. Throws, with every problem, where it does not load.
[[nodiscard]] schema::Device device_of(const std::vector<std::string>& texts);

/// Knot: a fixed body of 16 bytes in one message, its stamp in byte 0, a save counter in byte 1 (volatile) and a check
/// in the last byte. The text of its device file, and of release 1 (stamp 1), which explains bytes 2 to 5 (bits of the
/// last) and a name in 6 to 11; 12 to 14 are nobody's.
extern const char* const knot_device;
extern const char* const knot_release;

/// A Knot preset: `body` are bytes 1 to 14.
[[nodiscard]] Bytes knot_preset(std::uint8_t slot, const Bytes& body);

/// Such a body, and one of which one byte is another.
extern const Bytes knot_calm;
[[nodiscard]] Bytes knot_with(Bytes body, std::size_t at, std::uint8_t byte);

/// Serin: records behind a stamp; record 16 may come twice and holds records itself.
extern const char* const serin_device;
extern const char* const serin_release;
[[nodiscard]] Bytes serin_preset(std::uint8_t slot, const Bytes& records);

/// Reads a dump. Throws where it cannot be.
[[nodiscard]] dump::Dump read_dump(const Bytes& bytes, const schema::Device& device);

/// Presets one after another.
[[nodiscard]] Bytes in_a_row(const std::vector<Bytes>& presets);

}  // namespace downfit::testing
