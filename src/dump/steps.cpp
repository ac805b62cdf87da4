#include "dump/steps.h"

#include <algorithm>
#include <utility>
#include <variant>

#include "dump/told.h"

namespace downfit::dump {

namespace {

using schema::CheckStep;
using schema::MessagePattern;
using schema::Step;
using schema::UnpackStep;

constexpr std::uint8_t longest_run = 0xFF;

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

/// Redoes one packing; an encrypted layer stays as it is.
Result<Bytes> packed(const UnpackStep& step, const Bytes& data) {
    if (step.packing == UnpackStep::Packing::encrypted) return data;
    return midi::encode(packing_of(step), data);
}

/// Undoes one packing; `origins` is carried along where it is wanted.
bool unpack(const UnpackStep& step, Bytes& data, midi::Origins* origins, StepFailure& failure) {
    if (step.packing == UnpackStep::Packing::encrypted) {
        failure.what = "encrypted layer: cannot be read";
        failure.length = data.size();
        return false;
    }
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

Problem cannot_write(std::string what) {
    return {std::monostate{}, std::move(what), {}, {}};
}

/// The data before each step and after the last, from the inside out.
Result<std::vector<Bytes>> packed_states(const MessagePattern& pattern, const Bytes& payload) {
    std::vector<Bytes> states(pattern.steps.size() + 1);
    states.back() = payload;
    for (std::size_t i = pattern.steps.size(); i-- > 0;) {
        if (const auto* step = std::get_if<UnpackStep>(&pattern.steps[i])) {
            Result<Bytes> data = packed(*step, states[i + 1]);
            if (!data) return data.problems();
            states[i] = std::move(data).value();
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
        const auto* step = std::get_if<UnpackStep>(&one);
        if (step && !is_encrypted(one)) {
            Result<Bytes> plain = midi::decode(reading_packing(*step), states.back());
            if (!plain) return plain.problems();
            states.push_back(std::move(plain).value());
        } else {
            states.push_back(states.back());
        }
    }
    return states;
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
        case Packing::deflate:
        case Packing::encrypted: break;
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
        const auto* packing = std::get_if<UnpackStep>(&step);
        if (!packing) {
            if (auto failure = verify(step, pattern, captures, result.data))
                result.failures.push_back(*std::move(failure));
            continue;
        }
        StepFailure failure;
        if (unpack(*packing, result.data, origins, failure)) continue;
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
    for (std::size_t i = 0; i < steps.size(); ++i) {
        StepFailure failure;
        if (const auto* packing = std::get_if<UnpackStep>(&steps[i])) {
            if (unpack(*packing, result.data, origins, failure)) continue;
            result.unpacked = false;
        } else {
            auto wrong = verify(steps[i], result.data);
            if (!wrong) continue;
            failure = *std::move(wrong);
        }
        failure.step = i;
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
        if (auto problem = put(pattern.steps[i], pattern, captures, states[i])) return *std::move(problem);
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
        if (auto problem = put(*step, data)) return *std::move(problem);
        const auto* packing = std::get_if<UnpackStep>(&*step);
        if (!packing) continue;
        Result<Bytes> outer = packed(*packing, data);
        if (!outer) return outer.problems();
        data = std::move(outer).value();
    }
    return data;
}

bool checks_capture(const MessagePattern& pattern, std::string_view name) {
    return std::ranges::any_of(pattern.steps, [&](const Step& step) {
        const auto* check = std::get_if<CheckStep>(&step);
        return check && find_capture(pattern, check->in) && std::ranges::find(check->over, name) != check->over.end();
    });
}

bool is_encrypted(const Step& step) {
    const auto* packing = std::get_if<UnpackStep>(&step);
    return packing && packing->packing == UnpackStep::Packing::encrypted;
}

ByteSpan carried(const std::vector<Step>& steps, std::size_t first, ByteSpan span) {
    const bool open = span.length == open_length;
    std::size_t from = span.offset;
    std::size_t to = open ? from : from + span.length;
    for (std::size_t i = first; i < steps.size(); ++i) {
        const auto* packing = std::get_if<UnpackStep>(&steps[i]);
        if (!packing || packing->packing == UnpackStep::Packing::xor_key) continue;
        if (packing->packing == UnpackStep::Packing::nibbles) {
            from /= 2;
            to = (to + 1) / 2;
        } else if (packing->packing == UnpackStep::Packing::seven_in_eight) {
            from = from / 8 * 7;
            to = (to + 7) / 8 * 7;
        } else {
            return {0, open_length};
        }
    }
    return {from, open ? open_length : to - from};
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
