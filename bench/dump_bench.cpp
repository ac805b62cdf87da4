// How fast is a dump read? Bytes per second of framing, of undoing packings, and of a whole bank made presets.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdint>
#include <utility>

#include "dump/dump.h"
#include "dump/fields.h"
#include "dump/steps.h"
#include "midi/sysex.h"

namespace downfit {

namespace {

using Packing = schema::UnpackStep::Packing;

constexpr std::size_t part_size = 256;
constexpr std::size_t body_size = 1536;

/// The same bytes every time.
Bytes some_bytes(std::size_t size) {
    Bytes bytes(size);
    std::uint32_t state = 1;
    for (std::uint8_t& byte : bytes) {
        state = state * 1664525U + 1013904223U;
        byte = static_cast<std::uint8_t>(state >> 24);
    }
    return bytes;
}

schema::PatternPart literal(std::uint8_t byte) {
    schema::PatternPart part;
    part.byte = byte;
    return part;
}

schema::PatternPart capture(std::string name, std::size_t length) {
    schema::PatternPart part;
    part.kind = length == 0 ? schema::PatternPart::Kind::rest : schema::PatternPart::Kind::capture;
    part.name = std::move(name);
    part.length = length;
    return part;
}

schema::Step sum(std::vector<std::string> over) {
    schema::CheckStep step;
    step.check = midi::Check::sum_7_complement;
    step.over = std::move(over);
    step.in = "check";
    return step;
}

schema::Step body_check() {
    schema::CheckStep step;
    step.check = midi::Check::crc_16_ccitt_false;
    step.to = -2;
    step.at = -2;
    return step;
}

schema::MessagePattern message(std::string name, std::uint8_t kind, std::vector<schema::PatternPart> parts) {
    schema::MessagePattern pattern;
    pattern.name = std::move(name);
    pattern.parts = {literal(0xF0), literal(0x7D), literal(0x06), literal(kind)};
    pattern.parts.insert(pattern.parts.end(), parts.begin(), parts.end());
    pattern.parts.push_back(literal(0xF7));
    return pattern;
}

/// Start, six parts and end, with checks on all levels.
schema::Device siskin() {
    schema::Framing framing;
    framing.messages = {
        message("start", 0x20, {capture("slot", 2), capture("stamp", 2), capture("parts", 1), capture("check", 1)}),
        message("part", 0x21, {capture("slot", 2), capture("part", 1), capture("data", 0), capture("check", 1)}),
        message("end", 0x22, {capture("slot", 2)}),
    };
    framing.messages[0].steps = {sum({"slot", "stamp", "parts"})};
    framing.messages[1].steps = {sum({"slot", "part", "data"}), schema::UnpackStep{}};
    framing.preset = {{0, false}, {1, true}, {2, false}};
    framing.steps = {body_check()};
    schema::Device device;
    device.name = "siskin";
    device.slots = {1, 16384};
    device.framings = {std::move(framing)};
    device.layouts = {{"bank", 0, body_size, {}, {}}};
    return device;
}

void add_message(Bytes& bank, const schema::MessagePattern& pattern, dump::Captures captures, const Bytes& payload) {
    const auto written = dump::write_message_steps(pattern, std::move(captures), payload).value();
    const Bytes bytes = dump::build(pattern, written);
    bank.insert(bank.end(), bytes.begin(), bytes.end());
}

Bytes bank_of(const schema::Device& device, std::size_t presets) {
    const schema::Framing& framing = device.framings.front();
    const Bytes body = dump::write_layout_steps(framing.steps, some_bytes(body_size)).value();
    Bytes bank;
    for (std::size_t preset = 0; preset < presets; ++preset) {
        const Bytes slot{static_cast<std::uint8_t>(preset >> 7), static_cast<std::uint8_t>(preset & 0x7F)};
        add_message(bank, framing.messages[0], {slot, {0, 1}, {body_size / part_size}, {0}}, {});
        for (std::size_t at = 0; at < body_size; at += part_size) {
            const auto from = body.begin() + static_cast<std::ptrdiff_t>(at);
            add_message(bank, framing.messages[1], {slot, {static_cast<std::uint8_t>(at / part_size)}, {}, {0}},
                        {from, from + part_size});
        }
        add_message(bank, framing.messages[2], {slot}, {});
    }
    return bank;
}

void count_bytes(benchmark::State& state, std::size_t size) {
    state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations()) * static_cast<std::int64_t>(size));
}

void frame_bank(benchmark::State& state) {
    const Bytes bank = bank_of(siskin(), static_cast<std::size_t>(state.range(0)));
    for (auto _ : state) benchmark::DoNotOptimize(midi::read_sysex(bank));
    count_bytes(state, bank.size());
}
BENCHMARK(frame_bank)->Arg(1)->Arg(128)->Arg(2048);

void read_bank(benchmark::State& state) {
    const schema::Device device = siskin();
    const Bytes bank = bank_of(device, static_cast<std::size_t>(state.range(0)));
    for (auto _ : state) benchmark::DoNotOptimize(dump::read("bank.syx", bank, device));
    count_bytes(state, bank.size());
}
BENCHMARK(read_bank)->Arg(1)->Arg(128)->Arg(2048);

void write_bank(benchmark::State& state) {
    const schema::Device device = siskin();
    const Bytes bank = bank_of(device, static_cast<std::size_t>(state.range(0)));
    const dump::Dump dump = dump::read("bank.syx", bank, device).value();
    for (auto _ : state) benchmark::DoNotOptimize(dump::write(dump, bank));
    count_bytes(state, bank.size());
}
BENCHMARK(write_bank)->Arg(1)->Arg(128)->Arg(2048);

void unpack(benchmark::State& state, Packing packing) {
    schema::UnpackStep step;
    step.packing = packing;
    step.low_bits = 4;
    step.key = {0x1B};
    const Bytes packed = midi::encode(dump::packing_of(step), some_bytes(65536)).value();
    for (auto _ : state) benchmark::DoNotOptimize(midi::decode(dump::packing_of(step), packed));
    count_bytes(state, packed.size());
}
BENCHMARK_CAPTURE(unpack, seven_in_eight, Packing::seven_in_eight);
BENCHMARK_CAPTURE(unpack, nibbles, Packing::nibbles);
BENCHMARK_CAPTURE(unpack, split, Packing::split);
BENCHMARK_CAPTURE(unpack, xor_rolling, Packing::xor_rolling);
BENCHMARK_CAPTURE(unpack, run_length, Packing::run_length);
BENCHMARK_CAPTURE(unpack, deflate, Packing::deflate);

void read_fields(benchmark::State& state) {
    const Bytes body = some_bytes(body_size);
    std::vector<schema::Storage> fields(body_size / 2);
    for (std::size_t i = 0; i < fields.size(); ++i) {
        const auto at = static_cast<std::int64_t>(2 * i);
        fields[i].pieces = {{at, 0, 7}, {at + 1, 0, 7}};
        fields[i].coding = schema::Coding::offset_binary;
    }
    for (auto _ : state) {
        for (const schema::Storage& field : fields) benchmark::DoNotOptimize(dump::read_field(field, body));
    }
    state.SetItemsProcessed(static_cast<std::int64_t>(state.iterations()) * static_cast<std::int64_t>(fields.size()));
}
BENCHMARK(read_fields);

}  // namespace

}  // namespace downfit
