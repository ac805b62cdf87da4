// Identity request and reply. Source of the rows: MIDI 1.0 Detailed Specification 4.2.1, p. 40; the three-byte id
// 00 7F 7E is made up, there being no non-commercial one.

#include "midi/identity.h"

#include "midi/sysex.h"
#include "problem_text.h"
#include "support/catch.h"
#include "support/hex.h"

using namespace downfit;
using namespace downfit::midi;
using testing::from_hex;
using testing::problem_text;
using testing::to_hex;

TEST_CASE("identity request", "[midi][identity]") {
    const auto request = build_identity_request();
    CHECK(to_hex(frame(request.value()).value()) == "F0 7E 7F 06 01 F7");
    CHECK(requested_device(request.value()) == all_devices);
    CHECK(requested_device(from_hex("7E 10 06 01")) == 0x10);
    for (const char* other : {"", "7E 10 06", "7E 10 06 02", "7F 10 06 01", "7E 10 07 01", "7E 10 06 01 00"}) {
        CAPTURE(other);
        CHECK_FALSE(requested_device(from_hex(other)).has_value());
    }
    CHECK(problem_text(build_identity_request(0x80)) == "device 80 cannot be addressed [00 to 7F]");
}

TEST_CASE("identity reply, one-byte id", "[midi][identity]") {
    const Bytes sent = from_hex("F0 7E 10 06 02 7D 05 00 02 00 03 09 00 00 F7");
    const Item item = read_sysex(sent).at(0);
    const auto identity = parse_identity_reply(item.content);
    REQUIRE(identity.ok());
    CHECK(identity.value() == Identity{0x10, {{0x7D, 0, 0}, 1}, 5, 2, {0x03, 0x09, 0x00, 0x00}});
    CHECK(frame(build_identity_reply(identity.value()).value()).value() == sent);
}

TEST_CASE("identity reply, three-byte id", "[midi][identity]") {
    const Bytes sent = from_hex("F0 7E 10 06 02 00 7F 7E 05 00 02 00 03 0A 00 02 F7");
    const Item item = read_sysex(sent).at(0);
    const auto identity = parse_identity_reply(item.content);
    REQUIRE(identity.ok());
    CHECK(identity.value() == Identity{0x10, {{0x00, 0x7F, 0x7E}, 3}, 5, 2, {0x03, 0x0A, 0x00, 0x02}});
    CHECK(frame(build_identity_reply(identity.value()).value()).value() == sent);
}

TEST_CASE("family and member have fourteen bits, low seven first", "[midi][identity]") {
    const auto identity = parse_identity_reply(from_hex("7E 00 06 02 7D 7F 7F 00 01 00 00 00 00"));
    CHECK(identity.value().family == 16383);
    CHECK(identity.value().member == 128);
}

TEST_CASE("broken identity replies", "[midi][identity]") {
    struct Row {
        const char* content;
        const char* problem;
    };
    const Row row = GENERATE(values<Row>({
        {"", "0+0: not an identity reply [7E, a device, 06 02]"},
        {"7E 10 06 01", "0+4: not an identity reply [7E, a device, 06 02]"},
        {"7E 10 06 02", "4+0: the identity reply has no whole manufacturer id [one byte, or 00 and two more]"},
        {"7E 10 06 02 00 7F", "4+2: the identity reply has no whole manufacturer id [one byte, or 00 and two more]"},
        {"7E 10 06 02 7D 05 00 02 00 03 09 00", "12+1: the identity reply is too short [13 bytes between F0 and F7]"},
        {"7E 10 06 02 00 7F 7E 05 00 02 00 03 09",
         "13+2: the identity reply is too short [15 bytes between F0 and F7]"},
        {"7E 10 06 02 7D 05 00 02 00 03 09 00 00 11 12",
         "13+2: the identity reply is too long [13 bytes between F0 and F7]"},
        {"7E 10 06 02 7D 05 80 02 00 03 09 00 00", "6+1: byte 80 is not data [00 to 7F]"},
    }));
    CHECK(problem_text(parse_identity_reply(from_hex(row.content))) == row.problem);
}

TEST_CASE("replies that cannot be built", "[midi][identity]") {
    const Identity good{0x10, {{0x7D, 0, 0}, 1}, 5, 2, {3, 9, 0, 0}};
    CHECK(build_identity_reply(good).ok());
    auto bad = good;
    bad.manufacturer = {{0x00, 0, 0}, 1};
    CHECK(problem_text(build_identity_reply(bad)) ==
          "the manufacturer id is malformed [01 to 7F, or 00 and two bytes of 00 to 7F]");
    bad.manufacturer = {{0x7D, 0, 0}, 2};
    CHECK_FALSE(build_identity_reply(bad).ok());
    bad.manufacturer = {{0x01, 0x02, 0x03}, 3};
    CHECK_FALSE(build_identity_reply(bad).ok());
    bad = good;
    bad.device = 0x80;
    CHECK(problem_text(build_identity_reply(bad)) == "the device number is too large [00 to 7F]");
    bad = good;
    bad.family = 0x4000;
    CHECK(problem_text(build_identity_reply(bad)) == "the family is too large [0 to 16383]");
    bad = good;
    bad.member = 0x4000;
    CHECK(problem_text(build_identity_reply(bad)) == "the member is too large [0 to 16383]");
    bad = good;
    bad.revision[2] = 0xFF;
    CHECK(problem_text(build_identity_reply(bad)) == "revision byte FF is not data [00 to 7F]");
}
