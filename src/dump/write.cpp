#include <algorithm>
#include <optional>
#include <utility>
#include <variant>
#include <vector>

#include "base/text.h"
#include "dump/dump.h"
#include "dump/entries.h"
#include "dump/read_named.h"
#include "dump/rewrite.h"
#include "dump/steps.h"

namespace downfit::dump {

namespace {

using schema::Framing;
using schema::MessagePattern;

Problem cannot_write(const Dump& dump, const Entry& entry, std::string what, std::string expected) {
    const std::size_t offset = entry.messages.empty() ? 0 : dump.messages[entry.messages.front()].span.offset;
    return {BytePlace{dump.file, offset, 0, entry.slot}, std::move(what), std::move(expected), {}};
}

std::string bytes_text(std::size_t count) {
    return number_text(static_cast<double>(count)) + " bytes";
}

/// The packed data of an entry: as it was sent where its body is what it was.
Result<Bytes> joined_data(const Dump& dump, const Entry& entry) {
    const Framing& framing = dump.device->framings[entry.framing];
    if (!entry.joined_as_sent.empty()) {
        const StepResult was = read_layout_steps(framing.steps, entry.joined_as_sent);
        if (was.unpacked && was.data == entry.body) return entry.joined_as_sent;
    }
    return write_layout_steps(framing.steps, entry.body);
}

/// The captures of one message with another payload.
Result<Captures> captures_with(const Dump& dump, const Message& message, const Bytes& payload) {
    const bool unchanged = payload == message.payload;
    return write_message_steps(pattern_of(dump, message), message.captures, payload,
                               unchanged ? &message.payload_as_sent : nullptr);
}

/// A message as sent. Real-time bytes go back to their places, or before the end where the message became shorter.
Bytes framed(const MessagePattern& pattern, const Captures& captures, const Message& message) {
    const Bytes plain = build(pattern, captures);
    Bytes bytes;
    std::size_t used = 0;
    for (const auto& [offset, byte] : message.realtime) {
        while (bytes.size() < offset && used + 1 < plain.size()) bytes.push_back(plain[used++]);
        bytes.push_back(byte);
    }
    bytes.insert(bytes.end(), plain.begin() + static_cast<std::ptrdiff_t>(used), plain.end());
    return bytes;
}

/// Makes one message anew with that data.
std::optional<Problem> remake(const Dump& dump, std::size_t index, const Bytes& payload, std::vector<Bytes>& made) {
    const Message& message = dump.messages[index];
    const Result<Captures> captures = captures_with(dump, message, payload);
    if (!captures) return captures.problems().front();
    made[index] = framed(pattern_of(dump, message), captures.value(), message);
    const bool sendable = std::ranges::all_of(captures.value(), [](const Bytes& bytes) {
        return std::ranges::all_of(bytes, [](std::uint8_t byte) { return byte < first_status; });
    });
    if (!sendable) return Problem{std::monostate{}, "a message would hold a byte above 7F", "00 to 7F", {}};
    return std::nullopt;
}

/// Bodies of records may be of any length.
bool holds_records(const Dump& dump, const Entry& entry) {
    if (entry.layout < dump.device->layouts.size() && dump.device->layouts[entry.layout].records) return true;
    return std::ranges::any_of(dump.device->releases, [&](const schema::ReleaseEntry& release) {
        return release.schema && entry.layout < release.schema->layouts.size() &&
               release.schema->layouts[entry.layout].records;
    });
}

/// How the packed data of an entry is shared out to the messages that carry it: as it was, where its length is what it
/// was; else the last one takes what is left. Nothing where that does not go.
std::optional<std::vector<std::size_t>> shares(const Dump& dump, const Entry& entry,
                                               const std::vector<std::size_t>& carriers, std::size_t size) {
    std::vector<std::size_t> lengths;
    std::size_t room = 0;
    for (const std::size_t index : carriers) {
        lengths.push_back(dump.messages[index].payload.size());
        room += lengths.back();
    }
    if (size == room) return lengths;
    const bool packs = length_varies(dump.device->framings[entry.framing].steps);
    if (carriers.size() == 1 && (packs || holds_records(dump, entry))) return std::vector{size};
    if (lengths.empty() || !holds_records(dump, entry)) return std::nullopt;
    const std::size_t others = room - lengths.back();
    const std::size_t most = *std::ranges::max_element(lengths);
    if (size <= others || size - others > most) return std::nullopt;
    lengths.back() = size - others;
    return lengths;
}

/// Makes the messages of one entry anew, into `made` by message index.
std::optional<Problems> write_entry(const Dump& dump, const Entry& entry, std::vector<Bytes>& made) {
    const Result<Bytes> joined = joined_data(dump, entry);
    if (!joined) return joined.problems();
    std::vector<std::size_t> carriers;
    std::size_t room = 0;
    for (const std::size_t index : entry.messages) {
        if (!find_capture(pattern_of(dump, dump.messages[index]), "data")) continue;
        carriers.push_back(index);
        room += dump.messages[index].payload.size();
    }
    const std::size_t size = joined.value().size();
    const auto lengths = shares(dump, entry, carriers, size);
    if (!lengths) {
        return Problems{cannot_write(dump, entry,
                                     "the preset no longer fits its messages: packed, it has " + bytes_text(size),
                                     bytes_text(room))};
    }
    std::size_t used = 0;
    std::size_t carrier = 0;
    for (const std::size_t index : entry.messages) {
        const bool carries = carrier < carriers.size() && carriers[carrier] == index;
        const std::size_t length = carries ? (*lengths)[carrier++] : 0;
        const auto from = joined.value().begin() + static_cast<std::ptrdiff_t>(used);
        const auto wrong = remake(dump, index, Bytes(from, from + static_cast<std::ptrdiff_t>(length)), made);
        if (wrong) return Problems{cannot_write(dump, entry, wrong->what, wrong->expected)};
        used += length;
    }
    return std::nullopt;
}

/// Makes the messages of one image anew, or the raw file.
std::optional<Problems> write_image(const Dump& dump, std::size_t image, ByteView original, std::vector<Bytes>& made,
                                    std::optional<Bytes>& file) {
    Result<Rewritten> rewritten = rewrite_image(dump, image, original);
    if (!rewritten) return rewritten.problems();
    if (rewritten.value().file) file = std::move(rewritten.value().file);
    for (const auto& [index, payload] : rewritten.value().payloads) {
        auto wrong = remake(dump, index, payload, made);
        if (!wrong) continue;
        wrong->place = BytePlace{dump.file, dump.messages[index].span.offset, 0, -1};
        return Problems{*std::move(wrong)};
    }
    return std::nullopt;
}

/// Messages that belong to no entry, or whose data stays, are made anew where somebody changed their captures.
Problems write_changed(const Dump& dump, ByteView original, std::vector<Bytes>& made) {
    Problems problems;
    for (std::size_t i = 0; i < dump.messages.size(); ++i) {
        const Message& message = dump.messages[i];
        const auto parts = std::ranges::count_if(pattern_of(dump, message).parts, [](const schema::PatternPart& part) {
            return part.kind != schema::PatternPart::Kind::literal;
        });
        if (static_cast<std::size_t>(parts) != message.captures.size()) continue;
        if (!made[i].empty() || message.span.offset + message.span.length > original.size()) continue;
        const Bytes now = framed(pattern_of(dump, message), message.captures, message);
        if (std::ranges::equal(now, original.subspan(message.span.offset, message.span.length))) continue;
        if (auto wrong = remake(dump, i, message.payload, made)) {
            wrong->place = BytePlace{dump.file, message.span.offset, 0, -1};
            problems.push_back(*std::move(wrong));
        }
    }
    return problems;
}

}  // namespace

Result<Bytes> write(const Dump& dump, ByteView original) {
    if (std::ranges::any_of(dump.entries, [](const Entry& entry) { return entry.text.has_value(); })) {
        return write_named(dump, original);
    }
    std::vector<Bytes> made(dump.messages.size());
    Problems problems;
    for (const Entry& entry : dump.entries) {
        if (entry.state == SlotState::damaged || entry.cut) continue;
        if (auto wrong = write_entry(dump, entry, made)) problems.insert(problems.end(), wrong->begin(), wrong->end());
    }
    std::optional<Bytes> file;
    for (std::size_t i = 0; i < dump.images.size(); ++i) {
        if (auto wrong = write_image(dump, i, original, made, file)) {
            problems.insert(problems.end(), wrong->begin(), wrong->end());
        }
    }
    if (!problems.empty()) return problems;
    if (file) return *std::move(file);
    problems = write_changed(dump, original, made);
    if (!problems.empty()) return problems;
    Bytes out;
    out.reserve(original.size());
    for (const Span& span : dump.spans) {
        if (span.span.offset > original.size() || span.span.length > original.size() - span.span.offset) {
            return Problem{
                dump.file, "this is not the file that was read", bytes_text(span.span.offset + span.span.length), {}};
        }
        const ByteView bytes = original.subspan(span.span.offset, span.span.length);
        const bool is_made = span.kind == Span::Kind::message && !made[span.index].empty();
        if (is_made) {
            out.insert(out.end(), made[span.index].begin(), made[span.index].end());
        } else {
            out.insert(out.end(), bytes.begin(), bytes.end());
        }
    }
    return out;
}

}  // namespace downfit::dump
