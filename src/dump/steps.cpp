#include "dump/steps.h"

#include <algorithm>
#include <utility>
#include <variant>

#include "midi/numbers.h"

namespace downfit::dump {

namespace {

using schema::CheckStep;
using schema::MessagePattern;
using schema::Step;
using schema::UnpackStep;

constexpr std::uint8_t longest_run = 0xFF;

std::string hex(std::uint64_t value, unsigned bits) {
    constexpr char digits[] = "0123456789ABCDEF";
    std::string text;
    for (unsigned nibble = (bits + 7) / 8 * 2; nibble-- > 0;) text += digits[(value >> (nibble * 4)) & 0x0F];
    return text;
}

std::uint64_t low_part(std::uint64_t value, unsigned bits) {
    return bits >= 64 ? value : value & ((std::uint64_t{1} << bits) - 1);
}

StepFailure check_failure(const CheckStep& step, std::uint64_t stored, std::uint64_t computed) {
    const unsigned width = midi::width(step.check);
    StepFailure failure;
    failure.is_check = true;
    failure.what = "the check " + std::string(midi::name(step.check)) + " is " + hex(stored, width) +
                   ", but the bytes it covers make " + hex(computed, width);
    failure.expected = hex(computed, width);
    return failure;
}

StepFailure unpack_failure(const Problem& problem) {
    StepFailure failure;
    failure.what = problem.what;
    failure.expected = problem.expected;
    if (const auto* place = std::get_if<BytePlace>(&problem.place)) {
        failure.at = place->offset;
        failure.length = place->length;
    }
    return failure;
}

/// Reading accepts any run that can be written down; writing keeps counts within seven bits.
midi::Packing reading_packing(const UnpackStep& step) {
    midi::Packing packing = packing_of(step);
    if (auto* run_length = std::get_if<midi::RunLength>(&packing)) run_length->max_count = longest_run;
    return packing;
}

/// Undoes one packing; `origins` is carried along where it is wanted.
bool unpack(const UnpackStep& step, Bytes& data, midi::Origins* origins, StepFailure& failure) {
    midi::Origins inner;
    Result<Bytes> plain = midi::decode(reading_packing(step), data, origins ? &inner : nullptr);
    if (!plain) {
        failure = unpack_failure(plain.problems().front());
        return false;
    }
    if (origins) {
        for (std::uint32_t& index : inner) index = index < origins->size() ? (*origins)[index] : 0;
        *origins = std::move(inner);
    }
    data = std::move(plain).value();
    return true;
}

midi::Origins identity(std::size_t size) {
    midi::Origins origins(size);
    for (std::size_t i = 0; i < size; ++i) origins[i] = static_cast<std::uint32_t>(i);
    return origins;
}

/// The place of an index in the data that came in; its end for an index beyond the last.
std::size_t came_from(const midi::Origins& origins, std::size_t index) {
    if (origins.empty()) return 0;
    return index < origins.size() ? origins[index] : std::size_t{origins.back()} + 1;
}

std::uint32_t compute_over(const CheckStep& step, const MessagePattern& pattern, const Captures& captures,
                           ByteView data) {
    midi::Checker checker(step.check);
    for (const std::string& name : step.over) {
        const auto place = find_capture(pattern, name);
        if (!place) continue;
        checker.add(name == "data" ? data : ByteView(captures[place->index]));
    }
    return checker.value();
}

struct Region {
    std::size_t from = 0, to = 0, at = 0, size = 0;
};

std::optional<Region> region_of(const CheckStep& step, std::size_t size) {
    const std::size_t length = (midi::width(step.check) + 7) / 8;
    const auto from = place_in(step.from, size, false);
    const auto to = place_in(step.to, size, true);
    const auto at = place_in(step.at, size, false);
    if (!from || !to || !at || *from > *to || length > size - *at) return std::nullopt;
    return Region{*from, *to, *at, length};
}

std::uint64_t stored_check(const CheckStep& step, const Region& region, ByteView data) {
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < region.size; ++i) {
        const std::size_t index = step.little_endian ? region.size - 1 - i : i;
        value = value << 8 | data[region.at + index];
    }
    return value;
}

void store_check(const CheckStep& step, const Region& region, std::uint64_t value, Bytes& data) {
    for (std::size_t i = 0; i < region.size; ++i) {
        const std::size_t index = step.little_endian ? i : region.size - 1 - i;
        data[region.at + index] = static_cast<std::uint8_t>(value & 0xFF);
        value >>= 8;
    }
}

std::optional<StepFailure> verify(const CheckStep& step, ByteView data) {
    const auto region = region_of(step, data.size());
    if (!region) {
        StepFailure failure;
        failure.at = data.size();
        failure.is_check = true;
        failure.what = "the data is too short for its check " + std::string(midi::name(step.check));
        return failure;
    }
    const std::uint64_t computed = midi::compute(step.check, data.subspan(region->from, region->to - region->from));
    const std::uint64_t stored = stored_check(step, *region, data);
    if (stored == computed) return std::nullopt;
    StepFailure failure = check_failure(step, stored, computed);
    failure.at = region->at;
    failure.length = region->size;
    return failure;
}

std::optional<StepFailure> verify(const CheckStep& step, const MessagePattern& pattern, const Captures& captures,
                                  ByteView data) {
    const auto place = find_capture(pattern, step.in);
    if (!place) return std::nullopt;
    const Bytes& held = captures[place->index];
    const auto stored = capture_number(*place->part, held);
    const std::uint64_t computed =
        low_part(compute_over(step, pattern, captures, data), 7 * static_cast<unsigned>(held.size()));
    if (stored && static_cast<std::uint64_t>(*stored) == computed) return std::nullopt;
    StepFailure failure = check_failure(step, stored ? static_cast<std::uint64_t>(*stored) : 0, computed);
    failure.at = capture_offset(pattern, captures, place->index);
    failure.length = held.size();
    return failure;
}

Problem cannot_write(std::string what) {
    return {std::monostate{}, std::move(what), {}, {}};
}

/// The data before each step and after the last, from the inside out.
Result<std::vector<Bytes>> packed_states(const MessagePattern& pattern, const Bytes& payload) {
    std::vector<Bytes> states(pattern.steps.size() + 1);
    states.back() = payload;
    for (std::size_t i = pattern.steps.size(); i-- > 0;) {
        if (const auto* step = std::get_if<UnpackStep>(&pattern.steps[i])) {
            Result<Bytes> packed = midi::encode(packing_of(*step), states[i + 1]);
            if (!packed) return packed.problems();
            states[i] = std::move(packed).value();
        } else {
            states[i] = states[i + 1];
        }
    }
    return states;
}

/// The same from the outside in.
Result<std::vector<Bytes>> unpacked_states(const MessagePattern& pattern, const Bytes& as_sent) {
    std::vector<Bytes> states{as_sent};
    for (const Step& one : pattern.steps) {
        if (const auto* step = std::get_if<UnpackStep>(&one)) {
            Result<Bytes> plain = midi::decode(reading_packing(*step), states.back());
            if (!plain) return plain.problems();
            states.push_back(std::move(plain).value());
        } else {
            states.push_back(states.back());
        }
    }
    return states;
}

std::optional<Problem> put_check(const CheckStep& check, const MessagePattern& pattern, Captures& captures,
                                 ByteView data) {
    const auto place = find_capture(pattern, check.in);
    if (!place) return std::nullopt;
    const std::size_t count = captures[place->index].size();
    const auto value = low_part(compute_over(check, pattern, captures, data), 7 * static_cast<unsigned>(count));
    const auto order = place->part->low_first ? midi::GroupOrder::low_first : midi::GroupOrder::high_first;
    Result<Bytes> groups = midi::split_groups(value, count, 7, order);
    if (!groups) return groups.problems().front();
    captures[place->index] = std::move(groups).value();
    return std::nullopt;
}

}  // namespace

std::optional<std::size_t> place_in(std::int64_t place, std::size_t size, bool end_if_zero) {
    const auto end = static_cast<std::int64_t>(size);
    if (place < 0 || (end_if_zero && place == 0)) {
        if (place < -end) return std::nullopt;
        return static_cast<std::size_t>(end + place);
    }
    if (place > end) return std::nullopt;
    return static_cast<std::size_t>(place);
}

midi::Packing packing_of(const UnpackStep& step) {
    using Packing = UnpackStep::Packing;
    const std::uint8_t first_key = step.key.empty() ? std::uint8_t{0} : step.key.front();
    switch (step.packing) {
        case Packing::seven_in_eight: return midi::SevenBit{static_cast<midi::SevenBit::Order>(step.order)};
        case Packing::nibbles: return midi::Nibbles{static_cast<midi::Nibbles::Order>(step.order)};
        case Packing::split: return midi::SplitArrays{step.low_bits};
        case Packing::xor_key: return midi::FixedKey{step.key};
        case Packing::xor_rolling: return midi::RollingKey{first_key};
        case Packing::run_length: return midi::RunLength{first_key};
        case Packing::deflate: break;
    }
    return midi::Deflate{static_cast<midi::Deflate::Wrapper>(step.order)};
}

StepResult read_message_steps(const MessagePattern& pattern, const Captures& captures, bool with_origins) {
    StepResult result;
    const auto data = find_capture(pattern, "data");
    std::size_t data_at = 0;
    if (data && data->index < captures.size()) {
        result.data = captures[data->index];
        data_at = capture_offset(pattern, captures, data->index);
    }
    if (with_origins) result.origins = identity(result.data.size());
    midi::Origins* origins = with_origins ? &result.origins : nullptr;
    for (const Step& step : pattern.steps) {
        if (const auto* check = std::get_if<CheckStep>(&step)) {
            if (auto failure = verify(*check, pattern, captures, result.data))
                result.failures.push_back(*std::move(failure));
            continue;
        }
        StepFailure failure;
        if (unpack(std::get<UnpackStep>(step), result.data, origins, failure)) continue;
        failure.at += data_at;
        result.failures.push_back(std::move(failure));
        result.unpacked = false;
        break;
    }
    return result;
}

StepResult read_layout_steps(const std::vector<Step>& steps, ByteView joined, bool with_origins) {
    StepResult result;
    result.data.assign(joined.begin(), joined.end());
    if (with_origins) result.origins = identity(joined.size());
    midi::Origins* origins = with_origins ? &result.origins : nullptr;
    for (const Step& step : steps) {
        StepFailure failure;
        if (const auto* check = std::get_if<CheckStep>(&step)) {
            auto wrong = verify(*check, result.data);
            if (!wrong) continue;
            failure = *std::move(wrong);
        } else if (unpack(std::get<UnpackStep>(step), result.data, origins, failure)) {
            continue;
        } else {
            result.unpacked = false;
        }
        // Only now is it worth the time to know where every byte came from.
        if (!with_origins) return read_layout_steps(steps, joined, true);
        failure.at = came_from(result.origins, failure.at);
        result.failures.push_back(std::move(failure));
        if (!result.unpacked) break;
    }
    return result;
}

Result<Captures> write_message_steps(const MessagePattern& pattern, Captures captures, const Bytes& payload,
                                     const Bytes* as_sent) {
    const bool keeps = as_sent && !as_sent->empty();
    Result<std::vector<Bytes>> made = keeps ? unpacked_states(pattern, *as_sent) : packed_states(pattern, payload);
    if (!made) return made.problems();
    std::vector<Bytes>& states = made.value();
    for (std::size_t i = pattern.steps.size(); i-- > 0;) {
        const auto* check = std::get_if<CheckStep>(&pattern.steps[i]);
        if (!check) continue;
        if (auto problem = put_check(*check, pattern, captures, states[i])) return *std::move(problem);
    }
    Bytes& data = states.front();
    if (std::ranges::any_of(data, [](std::uint8_t byte) { return byte > 0x7F; })) {
        return cannot_write("the data of message \"" + pattern.name + "\" does not fit into seven-bit bytes");
    }
    if (const auto place = find_capture(pattern, "data")) {
        const bool fixed = place->part->kind == schema::PatternPart::Kind::capture;
        if (fixed && data.size() != place->part->length) {
            return cannot_write("the data of message \"" + pattern.name + "\" is not as long as its place");
        }
        captures[place->index] = std::move(data);
    }
    return captures;
}

Result<Bytes> write_layout_steps(const std::vector<Step>& steps, const Bytes& body) {
    Bytes data = body;
    for (auto step = steps.rbegin(); step != steps.rend(); ++step) {
        if (const auto* check = std::get_if<CheckStep>(&*step)) {
            const auto region = region_of(*check, data.size());
            if (!region)
                return cannot_write("the data is too short for its check " + std::string(midi::name(check->check)));
            const ByteView view(data);
            store_check(*check, *region,
                        midi::compute(check->check, view.subspan(region->from, region->to - region->from)), data);
            continue;
        }
        Result<Bytes> packed = midi::encode(packing_of(std::get<UnpackStep>(*step)), data);
        if (!packed) return packed.problems();
        data = std::move(packed).value();
    }
    return data;
}

bool checks_capture(const MessagePattern& pattern, std::string_view name) {
    return std::ranges::any_of(pattern.steps, [&](const Step& step) {
        const auto* check = std::get_if<CheckStep>(&step);
        return check && find_capture(pattern, check->in) && std::ranges::find(check->over, name) != check->over.end();
    });
}

bool packs(const std::vector<Step>& steps) {
    return std::ranges::any_of(steps, [](const Step& step) { return std::holds_alternative<UnpackStep>(step); });
}

bool length_varies(const std::vector<Step>& steps) {
    return std::ranges::any_of(steps, [](const Step& step) {
        const auto* unpacking = std::get_if<UnpackStep>(&step);
        return unpacking && (unpacking->packing == UnpackStep::Packing::run_length ||
                             unpacking->packing == UnpackStep::Packing::deflate);
    });
}

}  // namespace downfit::dump
