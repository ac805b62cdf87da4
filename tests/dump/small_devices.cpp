#include "dump/small_devices.h"

#include <algorithm>

#include "midi/packing.h"

namespace downfit::testing {

namespace {

using schema::PatternPart;

PatternPart part_of(std::string_view token) {
    PatternPart part;
    if (token.front() != '{') {
        part.byte = static_cast<std::uint8_t>(std::stoi(std::string(token), nullptr, 16));
        return part;
    }
    std::string_view inside = token.substr(1, token.size() - 2);
    part.kind = inside.empty() ? PatternPart::Kind::any : PatternPart::Kind::capture;
    if (inside.ends_with("...")) {
        part.kind = PatternPart::Kind::rest;
        inside.remove_suffix(3);
    }
    if (inside.ends_with(",low-first")) {
        part.low_first = true;
        inside.remove_suffix(10);
    }
    const std::size_t colon = inside.find(':');
    if (colon != std::string_view::npos)
        part.length = static_cast<std::size_t>(std::stoi(std::string(inside.substr(colon + 1))));
    part.name = inside.substr(0, colon);
    return part;
}

std::uint8_t complement(ByteView bytes) {
    return static_cast<std::uint8_t>(midi::compute(midi::Check::sum_7_complement, bytes));
}

Bytes siskin_part(std::uint8_t slot, std::uint8_t number, ByteView payload) {
    const Bytes data = midi::encode(midi::SevenBit{}, payload).value();
    const Bytes checked = joined({{0, slot, number}, data});
    return joined({{0xF0, 0x7D, 0x06, 0x00, 0x21}, checked, {complement(checked), 0xF7}});
}

}  // namespace

schema::MessagePattern pattern(std::string name, std::string_view bytes, std::vector<schema::Step> steps) {
    schema::MessagePattern made;
    made.name = std::move(name);
    made.steps = std::move(steps);
    while (!bytes.empty()) {
        const std::size_t end = std::min(bytes.find(' '), bytes.size());
        made.parts.push_back(part_of(bytes.substr(0, end)));
        bytes.remove_prefix(std::min(end + 1, bytes.size()));
    }
    return made;
}

schema::Step check(midi::Check kind, std::vector<std::string> over, std::string in) {
    schema::CheckStep step;
    step.check = kind;
    step.over = std::move(over);
    step.in = std::move(in);
    return step;
}

schema::Step check_at(midi::Check kind, std::int64_t from, std::int64_t to, std::int64_t at, bool little) {
    schema::CheckStep step;
    step.check = kind;
    step.from = from;
    step.to = to;
    step.at = at;
    step.little_endian = little;
    return step;
}

schema::Step length(std::vector<std::string> of, std::string in, std::int64_t plus) {
    schema::LengthStep step;
    step.of = std::move(of);
    step.in = std::move(in);
    step.plus = plus;
    return step;
}

schema::Step length_at(std::int64_t from, std::int64_t to, std::int64_t at, std::size_t width, std::int64_t plus,
                       bool little) {
    schema::LengthStep step;
    step.from = from;
    step.to = to;
    step.at = at;
    step.width = width;
    step.plus = plus;
    step.little_endian = little;
    return step;
}

schema::Step unpack(schema::UnpackStep::Packing packing, int order, Bytes key, unsigned low_bits) {
    schema::UnpackStep step;
    step.packing = packing;
    step.order = static_cast<std::uint8_t>(order);
    step.key = std::move(key);
    step.low_bits = low_bits;
    return step;
}

void add_release(schema::Device& device, schema::Framing framing, std::size_t body_size) {
    schema::Layout layout;
    layout.name = "bank";
    layout.framing = device.framings.size();
    layout.body_size = body_size;
    device.framings.push_back(std::move(framing));
    schema::Release release;
    release.device = device.name;
    release.order = device.releases.size();
    release.name = "1." + std::to_string(release.order);
    release.stamps = {static_cast<std::int64_t>(release.order + 1)};
    release.slots = device.slots;
    release.layouts = {layout};
    if (device.layouts.empty()) device.layouts = release.layouts;
    schema::ReleaseEntry entry;
    entry.name = release.name;
    entry.stamps = release.stamps;
    entry.schema = std::move(release);
    device.releases.push_back(std::move(entry));
}

schema::Device device_with(schema::Framing framing, std::size_t body_size, int slots) {
    schema::Device device;
    device.name = "pipit";
    device.title = "Pipit";
    device.maker = "Quillfeather";
    device.slots = {1, slots};
    add_release(device, std::move(framing), body_size);
    return device;
}

schema::Device wren() {
    schema::Framing framing;
    framing.messages = {pattern("preset", "F0 7D 09 {slot} {stamp} {data...} F7")};
    framing.preset = {{0, false}};
    schema::Device device = device_with(framing, 2);
    device.name = "wren";
    return device;
}

schema::Device siskin() {
    const auto sum = midi::Check::sum_7_complement;
    schema::Framing framing;
    framing.messages = {
        pattern("start", "F0 7D 06 {unit} 20 {slot:2} {stamp} {parts} {check} F7",
                {check(sum, {"slot", "stamp", "parts"}, "check")}),
        pattern("part", "F0 7D 06 {unit} 21 {slot:2} {part} {data...} {check} F7",
                {check(sum, {"slot", "part", "data"}, "check"), unpack(schema::UnpackStep::Packing::seven_in_eight)}),
        pattern("end", "F0 7D 06 {unit} 22 {slot:2} F7"),
    };
    framing.preset = {{0, false}, {1, true}, {2, false}};
    framing.steps = {check_at(midi::Check::crc_16_ccitt_false, 0, -2, -2)};
    framing.empty = {schema::BodyBytes{0, {0xFF, 0xFF, 0xFF, 0xFF}}};
    schema::Device device = device_with(framing, 12);
    device.name = "siskin";
    return device;
}

Bytes siskin_preset(std::uint8_t slot, ByteView body) {
    Bytes whole(body.begin(), body.end());
    const std::uint32_t crc = midi::compute(midi::Check::crc_16_ccitt_false, body);
    whole.push_back(static_cast<std::uint8_t>(crc >> 8));
    whole.push_back(static_cast<std::uint8_t>(crc & 0xFF));
    const ByteView view(whole);
    const Bytes head{0, slot, 1, 2};
    return joined({{0xF0, 0x7D, 0x06, 0x00, 0x20},
                   head,
                   {complement(head), 0xF7},
                   siskin_part(slot, 0, view.first(6)),
                   siskin_part(slot, 1, view.subspan(6)),
                   {0xF0, 0x7D, 0x06, 0x00, 0x22, 0x00, slot, 0xF7}});
}

Bytes siskin_body(std::uint8_t slot) {
    Bytes body;
    for (unsigned i = 0; i < 10; ++i) body.push_back(static_cast<std::uint8_t>(slot * 83 + i * 37));
    return body;
}

Bytes siskin_bank() {
    return joined(
        {siskin_preset(0, siskin_body(0)), siskin_preset(1, siskin_body(1)), siskin_preset(2, siskin_body(2))});
}

Bytes joined(const std::vector<Bytes>& parts) {
    Bytes all;
    for (const Bytes& part : parts) all.insert(all.end(), part.begin(), part.end());
    return all;
}

Bytes piece(const Bytes& bytes, std::size_t from, std::size_t to) {
    return {bytes.begin() + static_cast<std::ptrdiff_t>(from), bytes.begin() + static_cast<std::ptrdiff_t>(to)};
}

schema::Parameter byte_parameter(std::string id, int group, std::int64_t at) {
    schema::Parameter made;
    made.id = id;
    made.meaning = std::move(id);
    made.group = group;
    made.storage.pieces = {{at, 0, 8}};
    return made;
}

bool covers(const dump::Dump& dump, std::size_t size) {
    std::size_t next = 0;
    for (const dump::Span& span : dump.spans) {
        if (span.span.offset != next || span.span.length == 0) return false;
        next += span.span.length;
    }
    return next == size;
}

}  // namespace downfit::testing
