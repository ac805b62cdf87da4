// The universal identity request and reply: what a device says it is, and which release it runs.
//
// MIDI 1.0 Detailed Specification 4.2.1, p. 40. Everything here works on content: the bytes between F0 and F7.
// - request: 7E device 06 01
// - reply:   7E device 06 02 id family(2) member(2) revision(4); the id takes one byte or three, and a long one
//            moves every later field by two.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "base/bytes.h"
#include "base/result.h"
#include "midi/manufacturer.h"

namespace downfit::midi {

/// The device number that addresses every device.
inline constexpr std::uint8_t all_devices = 0x7F;

/// What a reply says.
struct Identity {
    std::uint8_t device = all_devices;  ///< 00 to 7F, the device's channel
    ManufacturerId manufacturer;
    std::uint16_t family = 0;  ///< 0 to 16383, sent low seven bits first
    std::uint16_t member = 0;  ///< 0 to 16383, sent low seven bits first

    /// Four bytes of 00 to 7F in the order sent. Their order and radix differ from device to device, so nothing
    /// is read into them here.
    std::array<std::uint8_t, 4> revision{};

    bool operator==(const Identity&) const = default;
};

/// The device a request is addressed to; nothing if `content` is not exactly a request.
[[nodiscard]] std::optional<std::uint8_t> requested_device(ByteView content);

/// The content of a request to `device`. Fails if it is above 7F.
[[nodiscard]] Result<Bytes> build_identity_request(std::uint8_t device = all_devices);

/// Whether `content` claims to be a reply (7E, any device, 06 02); what follows may still be broken.
[[nodiscard]] bool is_identity_reply(ByteView content);

/// Reads a reply. Fails, with the place as an index into `content`: not a reply, no manufacturer id, too short,
/// too long, or a byte above 7F.
[[nodiscard]] Result<Identity> parse_identity_reply(ByteView content);

/// The content of a reply. Fails if a number is outside the range given at its member, or the id is malformed.
[[nodiscard]] Result<Bytes> build_identity_reply(const Identity& identity);

}  // namespace downfit::midi
