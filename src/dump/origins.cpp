#include <algorithm>
#include <vector>

#include "dump/dump.h"
#include "dump/steps.h"

namespace downfit::dump {

namespace {

/// Where byte `index` of a message without its real-time bytes stands in the file.
std::size_t offset_in_file(const Message& message, std::size_t index) {
    for (const auto& realtime : message.realtime) {
        if (realtime.first > index) break;
        ++index;
    }
    return message.span.offset + index;
}

/// Where every byte of a message's payload came from.
std::vector<std::size_t> payload_origins(const schema::MessagePattern& pattern, const Message& message) {
    std::vector<std::size_t> offsets;
    const auto data = find_capture(pattern, "data");
    if (!data) return offsets;
    const std::size_t before = capture_offset(pattern, message.captures, data->index);
    const StepResult steps = read_message_steps(pattern, message.captures, true);
    offsets.reserve(steps.origins.size());
    for (const std::uint32_t index : steps.origins) offsets.push_back(offset_in_file(message, before + index));
    return offsets;
}

}  // namespace

std::vector<std::size_t> origins(const Dump& dump, const Entry& entry, ByteView) {
    const schema::Framing& framing = dump.device->framings[entry.framing];
    std::vector<std::size_t> joined_offsets;
    Bytes joined;
    std::size_t start = 0;
    for (const std::size_t index : entry.messages) {
        const Message& message = dump.messages[index];
        const std::vector<std::size_t> offsets = payload_origins(framing.messages[message.pattern], message);
        if (joined.empty()) start = message.span.offset;
        joined_offsets.insert(joined_offsets.end(), offsets.begin(), offsets.end());
        joined.insert(joined.end(), message.payload.begin(), message.payload.end());
    }
    const StepResult steps = read_layout_steps(framing.steps, joined, true);
    std::vector<std::size_t> result(entry.body.size(), start);
    const std::size_t known = std::min(result.size(), steps.origins.size());
    for (std::size_t i = 0; i < known; ++i) {
        if (steps.origins[i] < joined_offsets.size()) result[i] = joined_offsets[steps.origins[i]];
    }
    return result;
}

}  // namespace downfit::dump
