#include "dump/told.h"

#include <utility>
#include <variant>

#include "base/text.h"
#include "midi/numbers.h"

namespace downfit::dump {

namespace {

using schema::CheckStep;
using schema::LengthStep;
using schema::MessagePattern;
using schema::Step;

/// As many digits as whole bytes hold that many bits.
std::string hex(std::uint64_t value, unsigned bits) {
    return hex_text(value, (bits + 7) / 8 * 2);
}

std::uint64_t low_part(std::uint64_t value, unsigned bits) {
    return bits >= 64 ? value : value & ((std::uint64_t{1} << bits) - 1);
}

std::string name_of(const Step& step) {
    const auto* check = std::get_if<CheckStep>(&step);
    return check ? "check " + std::string(midi::name(check->check)) : "length";
}

StepFailure failure_of(const Step& step, std::uint64_t stored, std::uint64_t computed) {
    StepFailure failure;
    failure.is_check = true;
    if (const auto* check = std::get_if<CheckStep>(&step)) {
        const unsigned width = midi::width(check->check);
        failure.what = "the " + name_of(step) + " is " + hex(stored, width) + ", but the bytes it covers make " +
                       hex(computed, width);
        failure.expected = hex(computed, width);
    } else {
        failure.what = "the length is told as " + std::to_string(stored) + ", but the bytes it counts make " +
                       std::to_string(computed);
        failure.expected = std::to_string(computed);
    }
    return failure;
}

/// The capture that holds the step's number; nothing for packings.
std::optional<CapturePlace> holder(const Step& step, const MessagePattern& pattern) {
    if (const auto* check = std::get_if<CheckStep>(&step)) return find_capture(pattern, check->in);
    if (const auto* length = std::get_if<LengthStep>(&step)) return find_capture(pattern, length->in);
    return std::nullopt;
}

/// What the step's number must be in a capture of `count` seven-bit bytes.
std::uint64_t computed_for(const Step& step, const MessagePattern& pattern, const Captures& captures, ByteView data,
                           std::size_t count) {
    const auto bytes_of = [&](const std::string& name) {
        const auto place = find_capture(pattern, name);
        if (!place || place->index >= captures.size()) return ByteView{};
        return name == "data" ? data : ByteView(captures[place->index]);
    };
    const unsigned bits = 7 * static_cast<unsigned>(count);
    if (const auto* check = std::get_if<CheckStep>(&step)) {
        midi::Checker checker(check->check);
        for (const std::string& name : check->over) checker.add(bytes_of(name));
        return low_part(checker.value(), bits);
    }
    const auto& length = std::get<LengthStep>(step);
    std::int64_t total = length.plus;
    for (const std::string& name : length.of) total += static_cast<std::int64_t>(bytes_of(name).size());
    return low_part(static_cast<std::uint64_t>(total), bits);
}

/// A layout's step in data of a certain size.
struct Region {
    std::size_t from = 0, to = 0, at = 0, size = 0;
    bool little_endian = false;
};

template <class Written>
std::optional<Region> region_in(const Written& step, std::size_t length, std::size_t size) {
    const auto from = place_in(step.from, size, false);
    const auto to = place_in(step.to, size, true);
    const auto at = place_in(step.at, size, false);
    if (!from || !to || !at || *from > *to || length > size - *at) return std::nullopt;
    return Region{*from, *to, *at, length, step.little_endian};
}

std::optional<Region> region_of(const Step& step, std::size_t size) {
    if (const auto* check = std::get_if<CheckStep>(&step)) {
        return region_in(*check, (midi::width(check->check) + 7) / 8, size);
    }
    if (const auto* length = std::get_if<LengthStep>(&step)) return region_in(*length, length->width, size);
    return std::nullopt;
}

std::uint64_t computed_for(const Step& step, const Region& region, ByteView data) {
    const ByteView covered = data.subspan(region.from, region.to - region.from);
    if (const auto* check = std::get_if<CheckStep>(&step)) return midi::compute(check->check, covered);
    const std::int64_t total = std::get<LengthStep>(step).plus + static_cast<std::int64_t>(covered.size());
    return low_part(static_cast<std::uint64_t>(total), 8 * static_cast<unsigned>(region.size));
}

std::uint64_t stored_in(const Region& region, ByteView data) {
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < region.size; ++i) {
        const std::size_t index = region.little_endian ? region.size - 1 - i : i;
        value = value << 8 | data[region.at + index];
    }
    return value;
}

}  // namespace

std::optional<StepFailure> verify(const Step& step, const MessagePattern& pattern, const Captures& captures,
                                  ByteView data) {
    const auto place = holder(step, pattern);
    if (!place || place->index >= captures.size()) return std::nullopt;
    const Bytes& held = captures[place->index];
    const auto stored = capture_number(*place->part, held);
    const std::uint64_t computed = computed_for(step, pattern, captures, data, held.size());
    if (stored && static_cast<std::uint64_t>(*stored) == computed) return std::nullopt;
    StepFailure failure = failure_of(step, stored ? static_cast<std::uint64_t>(*stored) : 0, computed);
    failure.at = capture_offset(pattern, captures, place->index);
    failure.length = held.size();
    return failure;
}

std::optional<StepFailure> verify(const Step& step, ByteView data) {
    if (std::holds_alternative<schema::UnpackStep>(step)) return std::nullopt;
    const auto region = region_of(step, data.size());
    if (!region) {
        StepFailure failure;
        failure.at = data.size();
        failure.is_check = true;
        failure.what = "the data is too short for its " + name_of(step);
        failure.covers = {{0, data.size()}};
        return failure;
    }
    const std::uint64_t computed = computed_for(step, *region, data);
    const std::uint64_t stored = stored_in(*region, data);
    if (stored == computed) return std::nullopt;
    StepFailure failure = failure_of(step, stored, computed);
    failure.at = region->at;
    failure.length = region->size;
    failure.covers = {{region->from, region->to - region->from}, {region->at, region->size}};
    return failure;
}

std::optional<Problem> put(const Step& step, const MessagePattern& pattern, Captures& captures, ByteView data) {
    const auto place = holder(step, pattern);
    if (!place) return std::nullopt;
    const std::size_t count = captures[place->index].size();
    const std::uint64_t value = computed_for(step, pattern, captures, data, count);
    const auto order = place->part->low_first ? midi::GroupOrder::low_first : midi::GroupOrder::high_first;
    Result<Bytes> groups = midi::split_groups(value, count, 7, order);
    if (!groups) return groups.problems().front();
    captures[place->index] = std::move(groups).value();
    return std::nullopt;
}

std::optional<Problem> put(const Step& step, Bytes& data) {
    if (std::holds_alternative<schema::UnpackStep>(step)) return std::nullopt;
    const auto region = region_of(step, data.size());
    if (!region) return Problem{std::monostate{}, "the data is too short for its " + name_of(step), {}, {}};
    std::uint64_t value = computed_for(step, *region, data);
    for (std::size_t i = 0; i < region->size; ++i) {
        const std::size_t index = region->little_endian ? i : region->size - 1 - i;
        data[region->at + index] = static_cast<std::uint8_t>(value & 0xFF);
        value >>= 8;
    }
    return std::nullopt;
}

std::optional<ByteSpan> number_place(const Step& step, std::size_t size) {
    const auto region = region_of(step, size);
    if (!region) return std::nullopt;
    return ByteSpan{region->at, region->size};
}

}  // namespace downfit::dump
