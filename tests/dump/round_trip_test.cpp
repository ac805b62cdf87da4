// Properties: what is written is read again, for random bodies under several framings; garbage never does harm.
#include <algorithm>

#include "dump/dump.h"
#include "dump/small_devices.h"
#include "dump/steps.h"
#include "support/catch.h"
#include "support/property.h"

namespace downfit {

namespace {

using midi::Check;
using testing::covers;
using Packing = schema::UnpackStep::Packing;

struct Shape {
    std::string name;
    std::vector<schema::Step> message_steps;
    std::vector<schema::Step> layout_steps;
};

const std::vector<Shape> shapes{
    {"nibbles under a sum",
     {testing::check(Check::sum_7, {"slot", "data"}, "check"), testing::unpack(Packing::nibbles, 1)},
     {}},
    {"a stream of sevens with a CRC-32 inside",
     {testing::unpack(Packing::seven_in_eight, 3)},
     {testing::check_at(Check::crc_32, 4, 0, 0, true)}},
    {"checks inside and outside a masked body",
     {testing::unpack(Packing::seven_in_eight, 2)},
     {testing::check_at(Check::crc_16_x_25, 0, -2, -2), testing::unpack(Packing::xor_key, 0, {0x5A, 0x3C, 0x99}),
      testing::check_at(Check::sum_8_complement, 0, 4, 4)}},
    {"deflate in sevens", {testing::unpack(Packing::seven_in_eight, 1)}, {testing::unpack(Packing::deflate, 1)}},
    {"runs in a rolling mask",
     {testing::unpack(Packing::split, 0, {}, 3)},
     {testing::unpack(Packing::xor_rolling, 0, {0x11}), testing::unpack(Packing::run_length, 0, {0x1B})}},
};

schema::Device device_of(const Shape& shape) {
    schema::Framing framing;
    framing.messages = {testing::pattern("preset", "F0 7D 0A {slot} {data...} {check} F7", shape.message_steps)};
    framing.preset = {{0, false}};
    framing.steps = shape.layout_steps;
    return testing::device_with(framing, 0);
}

/// A message that holds `body`, made with the steps themselves.
Bytes message_with(const schema::Device& device, const Bytes& body) {
    const schema::Framing& framing = device.framings.front();
    const auto joined = dump::write_layout_steps(framing.steps, body).value();
    const auto captures = dump::write_message_steps(framing.messages.front(), {{7}, {}, {0}}, joined).value();
    return dump::build(framing.messages.front(), captures);
}

/// Reads what may be anything: never a crash, always every byte told, and unchanged when written.
void read_anything(const Bytes& bytes, const schema::Device& device) {
    (void)dump::recognise(bytes, {&device});
    const auto result = dump::read("any.syx", bytes, device);
    if (!result) return;
    RC_ASSERT(covers(result.value(), bytes.size()));
    for (const dump::Entry& entry : result.value().entries) {
        RC_ASSERT(entry.damage.empty() == (entry.state != dump::SlotState::damaged));
        RC_ASSERT(dump::origins(result.value(), entry, bytes).size() == entry.body.size());
    }
    const auto written = dump::write(result.value(), bytes);
    RC_ASSERT(written.ok());
    RC_ASSERT(written.value() == bytes);
}

}  // namespace

TEST_CASE("a body comes back from its messages", "[dump]") {
    for (const Shape& shape : shapes) {
        const schema::Device device = device_of(shape);
        testing::holds(shape.name, [&](Bytes body) {
            body.resize(std::max<std::size_t>(body.size(), 8));
            const Bytes message = message_with(device, body);
            auto result = dump::read("a.syx", message, device);
            RC_ASSERT(result.ok());
            dump::Dump& dump = result.value();
            RC_ASSERT(dump.entries.size() == 1U);
            dump::Entry& entry = dump.entries.front();
            RC_ASSERT(entry.damage.empty());
            RC_ASSERT(entry.body.size() == body.size());
            RC_ASSERT(dump::write(dump, message).value() == message);
            const auto at = *rc::gen::inRange<std::size_t>(0, body.size());
            entry.body[at] = *rc::gen::arbitrary<std::uint8_t>();
            const auto written = dump::write(dump, message);
            if (!written) RC_DISCARD("this body needs another length");
            const auto again = dump::read("b.syx", written.value(), device);
            RC_ASSERT(again.ok());
            RC_ASSERT(again.value().entries.front().damage.empty());
            RC_ASSERT(dump::write(again.value(), written.value()).value() == written.value());
        });
    }
}

TEST_CASE("random bytes and mutated banks do no harm", "[dump]") {
    const schema::Device siskin = testing::siskin();
    const Bytes bank = testing::siskin_bank();
    testing::holds("random bytes", [&](const Bytes& bytes) { read_anything(bytes, siskin); });
    testing::holds("random bytes that look like messages", [&] {
        const Bytes pieces{0xF0, 0x7D, 0x06, 0x00, 0x20, 0x21, 0x22, 0x01, 0x02, 0xF7, 0xF8, 0xF4, 0x7F};
        read_anything(*rc::gen::container<Bytes>(rc::gen::elementOf(pieces)), siskin);
    });
    testing::holds("pieces of a bank, cut, changed and shuffled", [&] {
        Bytes bytes;
        const auto count = *rc::gen::inRange(1, 8);
        for (int i = 0; i < count; ++i) {
            const auto from = *rc::gen::inRange<std::size_t>(0, bank.size());
            const auto to = *rc::gen::inRange<std::size_t>(from, bank.size() + 1);
            bytes.insert(bytes.end(), bank.begin() + static_cast<std::ptrdiff_t>(from),
                         bank.begin() + static_cast<std::ptrdiff_t>(to));
            if (!bytes.empty())
                bytes[*rc::gen::inRange<std::size_t>(0, bytes.size())] = *rc::gen::arbitrary<std::uint8_t>();
        }
        read_anything(bytes, siskin);
    });
    for (const Shape& shape : shapes) {
        const schema::Device device = device_of(shape);
        const Bytes message = message_with(device, {1, 2, 3, 4, 5, 6, 7, 7, 7, 7, 7, 7});
        testing::holds("changes under " + shape.name, [&] {
            Bytes bytes = message;
            const auto count = *rc::gen::inRange(1, 4);
            for (int i = 0; i < count; ++i) {
                bytes[*rc::gen::inRange<std::size_t>(0, bytes.size())] = *rc::gen::arbitrary<std::uint8_t>();
            }
            read_anything(bytes, device);
        });
    }
}

}  // namespace downfit
