// Devices made by hand for the tests of dump/, and dumps for them.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/bytes.h"
#include "dump/dump.h"
#include "schema/device.h"

namespace downfit::testing {

/// A pattern as docs/formats.md writes it: "F0 7D 09 {slot} {stamp:2} {data...} {} F7".
[[nodiscard]] schema::MessagePattern pattern(std::string name, std::string_view bytes,
                                             std::vector<schema::Step> steps = {});

/// A check in a message.
[[nodiscard]] schema::Step check(midi::Check kind, std::vector<std::string> over, std::string in);

/// A check on the joined data.
[[nodiscard]] schema::Step check_at(midi::Check kind, std::int64_t from, std::int64_t to, std::int64_t at,
                                    bool little = false);

/// A length in a message, and on the joined data.
[[nodiscard]] schema::Step length(std::vector<std::string> of, std::string in, std::int64_t plus = 0);
[[nodiscard]] schema::Step length_at(std::int64_t from, std::int64_t to, std::int64_t at, std::size_t width,
                                     std::int64_t plus = 0, bool little = false);

/// A packing; `order` is the number of its order or wrapper in midi/packing.h.
[[nodiscard]] schema::Step unpack(schema::UnpackStep::Packing packing, int order = 0, Bytes key = {},
                                  unsigned low_bits = 0);

/// A device with one release (stamp 1) that frames its one layout so.
[[nodiscard]] schema::Device device_with(schema::Framing framing, std::size_t body_size, int slots = 16);

/// Adds a release with its own framing of the same layout. Release n (from 0) has stamp n + 1.
void add_release(schema::Device& device, schema::Framing framing, std::size_t body_size);

/// Wren: one message a preset, nothing checked.
[[nodiscard]] schema::Device wren();

/// Siskin: start, parts and end; the first two checked and the joined data too.
[[nodiscard]] schema::Device siskin();

/// A siskin preset of two parts with 12 bytes of body: `body` are the ten before the check.
[[nodiscard]] Bytes siskin_preset(std::uint8_t slot, ByteView body);

/// Three of them, in slots 0, 1 and 2; preset n begins at n * siskin_size.
[[nodiscard]] Bytes siskin_bank();
[[nodiscard]] Bytes siskin_body(std::uint8_t slot);
inline constexpr std::size_t siskin_size = 11 + 2 * 17 + 8;

/// A parameter in one byte, counted from the start of its group.
[[nodiscard]] schema::Parameter byte_parameter(std::string id, int group, std::int64_t at);

/// Bytes in a row; and those from `from` to before `to`.
[[nodiscard]] Bytes joined(const std::vector<Bytes>& parts);
[[nodiscard]] Bytes piece(const Bytes& bytes, std::size_t from, std::size_t to);

/// Whether the spans of a dump are all of its `size` bytes, each told once, and none is empty.
[[nodiscard]] bool covers(const dump::Dump& dump, std::size_t size);

}  // namespace downfit::testing
