#include "dump/image_devices.h"

#include <algorithm>

#include "dump/small_devices.h"
#include "dump/steps.h"
#include "support/catch.h"

namespace downfit::testing {

namespace {

using midi::Check;
using Packing = schema::UnpackStep::Packing;

constexpr std::size_t addressed_part = 16;
constexpr std::size_t addressed_size = 60;

schema::PresetRun run(int count, std::vector<schema::Piece> pieces) {
    schema::PresetRun made;
    made.count = count;
    made.pieces = std::move(pieces);
    return made;
}

/// Which slots of the sample have bytes of the message that holds a byte of the file.
std::set<int> slots_under(const ImageSample& sample, std::size_t at) {
    const dump::Dump dump = read_sample(sample, sample.bytes);
    std::set<int> slots;
    for (const dump::Entry& entry : dump.entries) {
        for (const std::size_t index : entry.messages) {
            const ByteSpan span = dump.messages[index].span;
            if (at >= span.offset && at < span.offset + span.length) slots.insert(entry.slot);
        }
    }
    return slots;
}

std::set<int> all(int count) {
    std::set<int> slots;
    for (int slot = 0; slot < count; ++slot) slots.insert(slot);
    return slots;
}

}  // namespace

Bytes message(const schema::Framing& framing, std::size_t pattern, std::vector<Bytes> captures, const Bytes& payload) {
    const schema::MessagePattern& form = framing.messages[pattern];
    for (const schema::PatternPart& part : form.parts) {
        if (part.kind == schema::PatternPart::Kind::literal) continue;
        const auto index = dump::find_capture(form, part.name);
        if (index && index->index >= captures.size()) captures.emplace_back(part.name == "data" ? 0 : part.length);
    }
    return dump::build(form, dump::write_message_steps(form, captures, payload).value());
}

Bytes ramp(std::size_t count, unsigned from, unsigned step) {
    Bytes bytes;
    for (unsigned i = 0; i < count; ++i) bytes.push_back(static_cast<std::uint8_t>(from + i * step));
    return bytes;
}

dump::Dump read_sample(const ImageSample& sample, const Bytes& bytes) {
    auto dump = dump::read("image.syx", bytes, sample.device, sample.layout);
    REQUIRE(dump.ok());
    return std::move(dump).value();
}

const dump::Entry* entry_of(const dump::Dump& dump, int slot) {
    const auto found = std::ranges::find(dump.entries, slot, &dump::Entry::slot);
    return found == dump.entries.end() ? nullptr : &*found;
}

ImageSample one_message() {
    schema::Framing framing;
    framing.messages = {pattern("bank", "F0 7D 21 {stamp} {data...} {check} F7",
                                {check(Check::sum_7, {"stamp", "data"}, "check"), unpack(Packing::seven_in_eight)})};
    framing.preset = {{0, false}};
    framing.presets = {run(4, {{0, 6, 6, {}}})};
    const Bytes bytes = message(framing, 0, {{1}}, ramp(24, 7, 29));
    return {"one message", device_with(framing, 6), bytes, "", true, [](std::size_t) { return all(4); }};
}

ImageSample addressed() {
    schema::Framing framing;
    framing.messages = {
        pattern("part", "F0 7D 22 {address:2} {data...} {check} F7",
                {check(Check::sum_7_complement, {"address", "data"}, "check"), unpack(Packing::nibbles)})};
    framing.image.emplace();
    framing.image->of = {{0, true}};
    framing.image->address = "address";
    framing.image->unit = 4;
    framing.image->size = addressed_size;
    framing.presets = {run(5, {{0, 4, 4, {}}, {52, -8, 8, {}}})};
    const Bytes image = ramp(addressed_size, 3, 41);
    Bytes bytes;
    for (std::size_t at = 0; at < addressed_size; at += addressed_part) {
        const std::size_t end = std::min(at + addressed_part, addressed_size);
        const Bytes part(image.begin() + static_cast<std::ptrdiff_t>(at),
                         image.begin() + static_cast<std::ptrdiff_t>(end));
        bytes = joined({bytes, message(framing, 0, {{0, static_cast<std::uint8_t>(at / 4)}}, part)});
    }
    ImageSample sample{"addressed parts", device_with(framing, 12), bytes, "", true, {}};
    sample.may_spoil = [sample](std::size_t at) { return slots_under(sample, at); };
    return sample;
}

ImageSample shared_blocks() {
    schema::Framing framing;
    framing.messages = {
        pattern("part", "F0 7D 23 {part} {data...} {check:2} F7",
                {check(Check::crc_16_ccitt_false, {"part", "data"}, "check"), unpack(Packing::nibbles, 1)})};
    framing.image.emplace();
    framing.image->of = {{0, true}};
    framing.image->size = 38;
    framing.presets = {run(4, {{0, 5, 5, {}}, {20, 6, 6, 4}})};
    Bytes image = ramp(38, 9, 53);
    for (std::size_t i = 0; i < 4; ++i) image[i * 5 + 4] = static_cast<std::uint8_t>(i % 3);
    const ByteView view(image);
    const Bytes first(view.begin(), view.begin() + 19);
    const Bytes second(view.begin() + 19, view.end());
    const Bytes head = message(framing, 0, {{0}}, first);
    const Bytes bytes = joined({head, message(framing, 0, {{1}}, second)});
    // Slot 3 has its last byte, the number of its block, in the second part; all have their blocks there.
    return {"shared blocks", device_with(framing, 11), bytes, "", true, [](std::size_t) { return all(4); }};
}

ImageSample raw_file() {
    schema::Framing framing;
    framing.raw = true;
    framing.begins_with = {0x50, 0x49, 0x50};
    framing.steps = {check_at(Check::sum_8, 4, 11, 11), check_at(Check::sum_8, 12, 19, 19)};
    framing.presets = {run(2, {{4, 8, 8, {}}})};
    framing.stamp = schema::BodyNumber{0, 1, false};
    Bytes bytes = joined({{0x50, 0x49, 0x50, 0x02}, ramp(7, 1, 17), {0}, ramp(7, 1, 31), {0}});
    bytes = dump::write_layout_steps(framing.steps, bytes).value();
    return {"raw file", device_with(framing, 8), bytes, "", true, [](std::size_t at) {
                if (at < 4) return std::set<int>{};
                return at < 12 ? std::set<int>{0} : std::set<int>{1};
            }};
}

ImageSample headerless() {
    schema::Framing framing;
    framing.raw = true;
    return {"headerless file", device_with(framing, 9), ramp(9, 0xF0, 7), "bank", false, [](std::size_t) {
                return std::set<int>{};
            }};
}

ImageSample with_header() {
    schema::Framing framing;
    framing.messages = {
        pattern("header", "F0 7D 24 10 00 {stamp} {check} F7", {check(Check::sum_7_complement, {"stamp"}, "check")}),
        pattern("preset", "F0 7D 24 11 01 {slot} {data...} {check} F7",
                {check(Check::sum_7, {"slot", "data"}, "check")})};
    framing.dump = {{0, false}};
    framing.preset = {{1, false}};
    Bytes bytes = message(framing, 0, {{1}}, {});
    for (std::uint8_t slot = 0; slot < 3; ++slot) {
        bytes = joined({bytes, message(framing, 1, {{slot}}, ramp(4, slot * 16U, 3))});
    }
    ImageSample sample{"header", device_with(framing, 4), bytes, "", true, {}};
    sample.may_spoil = [sample](std::size_t at) { return slots_under(sample, at); };
    return sample;
}

std::vector<ImageSample> image_samples() {
    return {one_message(), addressed(), shared_blocks(), raw_file(), headerless(), with_header()};
}

}  // namespace downfit::testing
