#include "dump/pattern.h"

#include <algorithm>
#include <span>

#include "midi/numbers.h"

namespace downfit::dump {

namespace {

using schema::MessagePattern;
using schema::PatternPart;

std::size_t length_of(const PatternPart& part) {
    switch (part.kind) {
        case PatternPart::Kind::capture: return part.length;
        case PatternPart::Kind::rest: return 0;
        default: return 1;
    }
}

std::size_t length_of(std::span<const PatternPart> parts) {
    std::size_t length = 0;
    for (const PatternPart& part : parts) length += length_of(part);
    return length;
}

Bytes copy(ByteView bytes) {
    return {bytes.begin(), bytes.end()};
}

enum class Fit { whole, cut, differs };

/// Takes parts from the front of `message` and adds their captures; `cut` where it ends before them.
Fit take(std::span<const PatternPart> parts, ByteView& message, Captures& captures) {
    for (const PatternPart& part : parts) {
        const std::size_t length = length_of(part);
        if (message.size() < length) return Fit::cut;
        if (part.kind == PatternPart::Kind::literal) {
            if (message.front() != part.byte) return Fit::differs;
        } else {
            captures.push_back(copy(message.first(length)));
        }
        message = message.subspan(length);
    }
    return Fit::whole;
}

struct Halves {
    std::span<const PatternPart> before;
    std::span<const PatternPart> after;
    bool rest = false;
};

Halves split_at_rest(const MessagePattern& pattern) {
    const std::span<const PatternPart> parts(pattern.parts);
    const auto rest = std::ranges::find(parts, PatternPart::Kind::rest, &PatternPart::kind);
    const auto index = static_cast<std::size_t>(rest - parts.begin());
    if (index == parts.size()) return {parts, {}, false};
    return {parts.first(index), parts.subspan(index + 1), true};
}

bool literals_fit(std::span<const PatternPart> parts, ByteView bytes) {
    std::size_t at = 0;
    for (const PatternPart& part : parts) {
        if (part.kind == PatternPart::Kind::literal && bytes[at] != part.byte) return false;
        at += length_of(part);
    }
    return true;
}

}  // namespace

std::optional<Captures> match(const MessagePattern& pattern, ByteView message) {
    const Halves halves = split_at_rest(pattern);
    const std::size_t head = length_of(halves.before);
    const std::size_t tail = length_of(halves.after);
    if (halves.rest ? message.size() < head + tail : message.size() != head) return std::nullopt;
    if (!literals_fit(halves.before, message)) return std::nullopt;
    if (!literals_fit(halves.after, message.last(tail))) return std::nullopt;
    Captures captures;
    ByteView left = message;
    (void)take(halves.before, left, captures);
    if (halves.rest) {
        captures.push_back(copy(left.first(left.size() - tail)));
        left = left.last(tail);
        (void)take(halves.after, left, captures);
    }
    return captures;
}

std::optional<Captures> match_beginning(const MessagePattern& pattern, ByteView message) {
    const Halves halves = split_at_rest(pattern);
    Captures captures;
    const Fit fit = take(halves.before, message, captures);
    if (fit == Fit::differs) return std::nullopt;
    if (fit == Fit::whole && !halves.rest && !message.empty()) return std::nullopt;
    return captures;
}

Bytes build(const MessagePattern& pattern, const Captures& captures) {
    Bytes message;
    std::size_t next = 0;
    for (const PatternPart& part : pattern.parts) {
        if (part.kind == PatternPart::Kind::literal) {
            message.push_back(part.byte);
        } else {
            const Bytes& bytes = captures[next++];
            message.insert(message.end(), bytes.begin(), bytes.end());
        }
    }
    return message;
}

std::size_t literal_count(const MessagePattern& pattern) {
    return static_cast<std::size_t>(std::ranges::count(pattern.parts, PatternPart::Kind::literal, &PatternPart::kind));
}

bool has_rest(const MessagePattern& pattern) {
    return std::ranges::find(pattern.parts, PatternPart::Kind::rest, &PatternPart::kind) != pattern.parts.end();
}

std::optional<CapturePlace> find_capture(const MessagePattern& pattern, std::string_view name) {
    std::size_t index = 0;
    for (const PatternPart& part : pattern.parts) {
        if (part.kind == PatternPart::Kind::literal) continue;
        if (part.kind != PatternPart::Kind::any && part.name == name) return CapturePlace{&part, index};
        ++index;
    }
    return std::nullopt;
}

std::size_t capture_offset(const MessagePattern& pattern, const Captures& captures, std::size_t index) {
    std::size_t offset = 0;
    std::size_t next = 0;
    for (const PatternPart& part : pattern.parts) {
        if (part.kind == PatternPart::Kind::literal) {
            ++offset;
            continue;
        }
        if (next == index || next >= captures.size()) break;
        offset += captures[next++].size();
    }
    return offset;
}

std::optional<std::int64_t> capture_number(const PatternPart& part, ByteView bytes) {
    if (bytes.empty() || bytes.size() > 9) return std::nullopt;
    const auto order = part.low_first ? midi::GroupOrder::low_first : midi::GroupOrder::high_first;
    const Result<std::uint64_t> number = midi::join_groups(bytes, 7, order);
    if (!number) return std::nullopt;
    return static_cast<std::int64_t>(number.value());
}

std::optional<std::int64_t> named_number(const MessagePattern& pattern, const Captures& captures,
                                         std::string_view name) {
    const auto place = find_capture(pattern, name);
    if (!place || place->index >= captures.size()) return std::nullopt;
    return capture_number(*place->part, captures[place->index]);
}

}  // namespace downfit::dump
