#include <algorithm>
#include <cstdint>
#include <optional>
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

/// Where bytes of an image, before the layout's steps, stand in the file. A raw file is its own image.
class ImageOrigins {
public:
    ImageOrigins(const Dump& dump, const Image& image) : dump_(dump), image_(image), offsets_(image.parts.size()) {
        for (std::size_t p = 0; p < image.parts.size(); ++p) by_place_.push_back(p);
        std::ranges::stable_sort(by_place_, {}, [&](std::size_t p) { return image.parts[p].at; });
        bool overlap = false;
        for (const std::size_t p : by_place_) {
            overlap = overlap || image.parts[p].at < end_;
            end_ = std::max(end_, image.parts[p].at + size_of(p));
        }
        if (!overlap) return;
        owners_.assign(end_, nobody);
        for (std::size_t p = image.parts.size(); p-- > 0;) {
            const auto first = owners_.begin() + static_cast<std::ptrdiff_t>(image.parts[p].at);
            std::fill_n(first, size_of(p), static_cast<std::uint32_t>(p));
        }
    }

    std::size_t operator()(std::size_t index) {
        if (const auto p = part_at(index)) {
            const ImagePart& part = image_.parts[*p];
            const Message& message = dump_.messages[part.message];
            const schema::Framing& framing = dump_.device->framings[image_.framing];
            if (offsets_[*p].empty()) offsets_[*p] = payload_origins(framing.messages[message.pattern], message);
            return offsets_[*p][index - part.at];
        }
        if (dump_.device->framings[image_.framing].raw) return index;
        return image_.parts.empty() ? 0 : dump_.messages[image_.parts.front().message].span.offset;
    }

    /// What was laid, again.
    Bytes laid(ByteView original) const {
        if (dump_.device->framings[image_.framing].raw) return {original.begin(), original.end()};
        Bytes bytes(image_.laid_size);
        for (auto part = image_.parts.rbegin(); part != image_.parts.rend(); ++part) {
            const Bytes& payload = dump_.messages[part->message].payload;
            for (std::size_t i = 0; i < payload.size(); ++i) bytes[part->at + i] = payload[i];
        }
        return bytes;
    }

private:
    static constexpr std::uint32_t nobody = static_cast<std::uint32_t>(-1);

    std::size_t size_of(std::size_t p) const { return dump_.messages[image_.parts[p].message].payload.size(); }

    bool covers(std::size_t p, std::size_t index) const {
        return index >= image_.parts[p].at && index - image_.parts[p].at < size_of(p);
    }

    /// The first part that covers a byte.
    std::optional<std::size_t> part_at(std::size_t index) const {
        if (index >= end_) return std::nullopt;
        if (!owners_.empty()) {
            const std::uint32_t owner = owners_[index];
            return owner == nobody ? std::nullopt : std::optional<std::size_t>(owner);
        }
        auto after = std::ranges::upper_bound(by_place_, index, {}, [&](std::size_t p) { return image_.parts[p].at; });
        while (after != by_place_.begin()) {
            const std::size_t p = *--after;
            if (covers(p, index)) return p;
            if (size_of(p) > 0) return std::nullopt;
        }
        return std::nullopt;
    }

    const Dump& dump_;
    const Image& image_;
    std::vector<std::size_t> by_place_;  // indices into the parts
    std::vector<std::uint32_t> owners_;  // of every byte, where parts overlap; else empty
    std::size_t end_ = 0;
    std::vector<std::vector<std::size_t>> offsets_;  // of each part, where it was asked for
};

std::vector<std::size_t> cut_origins(const Dump& dump, const Entry& entry, ByteView original) {
    const Image& image = dump.images[entry.cut->image];
    const std::vector<schema::Step>& steps = dump.device->framings[entry.framing].steps;
    ImageOrigins offset_of(dump, image);
    midi::Origins moved;
    if (packs(steps)) moved = read_layout_steps(steps, offset_of.laid(original), true).origins;
    std::vector<std::size_t> result;
    result.reserve(entry.body.size());
    for (const ByteSpan piece : entry.cut->pieces) {
        for (std::size_t at = piece.offset; at < piece.offset + piece.length; ++at) {
            result.push_back(offset_of(at < moved.size() ? moved[at] : at));
        }
    }
    result.resize(entry.body.size(), result.empty() ? 0 : result.front());
    return result;
}

}  // namespace

std::vector<std::size_t> origins(const Dump& dump, const Entry& entry, ByteView original) {
    if (entry.text) {
        std::vector<std::size_t> places(entry.body.size());
        for (std::size_t i = 0; i < places.size(); ++i) places[i] = entry.text->offset + i;
        return places;
    }
    if (entry.cut) return cut_origins(dump, entry, original);
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
