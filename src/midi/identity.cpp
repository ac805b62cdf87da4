#include "midi/identity.h"

#include <algorithm>
#include <cstddef>
#include <string>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

constexpr std::uint8_t universal = 0x7E;
constexpr std::uint8_t general_information = 0x06;
constexpr std::uint8_t request = 0x01;
constexpr std::uint8_t reply = 0x02;
constexpr std::size_t header_size = 4;
constexpr std::size_t size_after_id = 8;
constexpr std::uint16_t largest_14_bit = 0x3FFF;

bool has_header(ByteView content, std::uint8_t message) {
    return content.size() >= header_size && content[0] == universal && content[1] <= 0x7F &&
           content[2] == general_information && content[3] == message;
}

std::uint16_t low_first(std::uint8_t low, std::uint8_t high) {
    return static_cast<std::uint16_t>(low | high << 7);
}

void put_low_first(Bytes& out, std::uint16_t value) {
    out.push_back(static_cast<std::uint8_t>(value & 0x7F));
    out.push_back(static_cast<std::uint8_t>(value >> 7));
}

}  // namespace

std::optional<std::uint8_t> requested_device(ByteView content) {
    if (content.size() != header_size || !has_header(content, request)) return std::nullopt;
    return content[1];
}

Result<Bytes> build_identity_request(std::uint8_t device) {
    if (device > 0x7F) return setting_problem("device " + hex_byte(device) + " cannot be addressed", "00 to 7F");
    return Bytes{universal, device, general_information, request};
}

bool is_identity_reply(ByteView content) {
    return has_header(content, reply);
}

Result<Identity> parse_identity_reply(ByteView content) {
    if (!is_identity_reply(content)) {
        return byte_problem(0, std::min(content.size(), header_size), "not an identity reply", "7E, a device, 06 02");
    }
    for (std::size_t i = header_size; i < content.size(); ++i) {
        if (content[i] > 0x7F) return byte_problem(i, 1, "byte " + hex_byte(content[i]) + " is not data", "00 to 7F");
    }
    const ByteView rest = content.subspan(header_size);
    const auto id = parse_manufacturer_id(rest);
    if (!id) {
        return byte_problem(header_size, rest.size(), "the identity reply has no whole manufacturer id",
                            "one byte, or 00 and two more");
    }
    const std::size_t wanted = header_size + id->length + size_after_id;
    const std::string expected = std::to_string(wanted) + " bytes between F0 and F7";
    if (content.size() < wanted) {
        return byte_problem(content.size(), wanted - content.size(), "the identity reply is too short", expected);
    }
    if (content.size() > wanted) {
        return byte_problem(wanted, content.size() - wanted, "the identity reply is too long", expected);
    }
    const ByteView fields = rest.subspan(id->length);
    Identity identity{content[1], *id, low_first(fields[0], fields[1]), low_first(fields[2], fields[3]), {}};
    std::copy_n(fields.begin() + 4, identity.revision.size(), identity.revision.begin());
    return identity;
}

Result<Bytes> build_identity_reply(const Identity& identity) {
    const bool known_length = identity.manufacturer.length == 1 || identity.manufacturer.length == 3;
    if (!known_length || parse_manufacturer_id(identity.manufacturer.view()) != identity.manufacturer) {
        return setting_problem("the manufacturer id is malformed", "01 to 7F, or 00 and two bytes of 00 to 7F");
    }
    if (identity.device > 0x7F) return setting_problem("the device number is too large", "00 to 7F");
    if (identity.family > largest_14_bit) return setting_problem("the family is too large", "0 to 16383");
    if (identity.member > largest_14_bit) return setting_problem("the member is too large", "0 to 16383");
    for (const std::uint8_t byte : identity.revision) {
        if (byte > 0x7F) return setting_problem("revision byte " + hex_byte(byte) + " is not data", "00 to 7F");
    }
    Bytes out{universal, identity.device, general_information, reply};
    const ByteView id = identity.manufacturer.view();
    out.insert(out.end(), id.begin(), id.end());
    put_low_first(out, identity.family);
    put_low_first(out, identity.member);
    out.insert(out.end(), identity.revision.begin(), identity.revision.end());
    return out;
}

}  // namespace downfit::midi
