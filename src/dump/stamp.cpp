#include "dump/stamp.h"

#include <algorithm>
#include <optional>
#include <string>

#include "dump/entries.h"
#include "dump/pattern.h"
#include "dump/read_named.h"
#include "dump/series.h"

namespace downfit::dump {

namespace {

bool captures_stamp(const Dump& dump, std::size_t message) {
    return find_capture(pattern_of(dump, dump.messages[message]), "stamp").has_value();
}

/// The message of an entry that captures its stamp, or the nearest one before it that speaks of all.
std::optional<std::size_t> stamp_message(const Dump& dump, const Entry& entry) {
    for (const std::size_t message : entry.messages) {
        if (captures_stamp(dump, message)) return message;
    }
    std::optional<std::size_t> nearest;
    for (std::size_t m = 0; m < dump.messages.size(); ++m) {
        const Message& message = dump.messages[m];
        const bool before =
            !entry.messages.empty() && message.span.offset < dump.messages[entry.messages.front()].span.offset;
        const schema::Framing& framing = dump.device->framings[message.framing];
        if (before && message.framing == entry.framing && in_header(framing, message.pattern) &&
            captures_stamp(dump, m)) {
            nearest = m;
        }
    }
    return nearest;
}

/// Where byte `at` of an entry's body stands in its image.
std::size_t image_byte(const Cut& cut, std::size_t at) {
    for (const ByteSpan& piece : cut.pieces) {
        if (at < piece.length) return piece.offset + at;
        at -= piece.length;
    }
    return at;
}

std::optional<Bytes> bytes_of_number(std::int64_t number, std::size_t length, unsigned bits, bool low_first) {
    Bytes bytes(length, 0);
    if (number < 0) return std::nullopt;
    for (std::size_t i = 0; i < length; ++i) {
        bytes[low_first ? i : length - 1 - i] = static_cast<std::uint8_t>(number & ((1 << bits) - 1));
        number >>= bits;
    }
    return number == 0 ? std::optional(bytes) : std::nullopt;
}

/// What a capture holds that says this stamp; `old` is what it holds now.
std::optional<Bytes> captured(const schema::PatternPart& part, const Bytes& old, const schema::Stamp& stamp) {
    if (const auto* number = std::get_if<std::int64_t>(&stamp)) {
        return bytes_of_number(*number, old.size(), 7, part.low_first);
    }
    const std::string& text = std::get<std::string>(stamp);
    const bool is_whole = part.kind == schema::PatternPart::Kind::rest;
    if (text.size() > old.size() && !is_whole) return std::nullopt;
    Bytes bytes(text.begin(), text.end());
    const std::uint8_t padding = !old.empty() && old.back() == 0 ? 0 : ' ';
    if (!is_whole) bytes.resize(old.size(), padding);
    return bytes;
}

bool put_in_body(const schema::BodyNumber& place, const schema::Stamp& stamp, Bytes& body) {
    const auto* number = std::get_if<std::int64_t>(&stamp);
    if (number == nullptr || place.length > body.size() || place.at > body.size() - place.length) return false;
    const auto bytes = bytes_of_number(*number, place.length, 8, place.little_endian);
    if (bytes) std::ranges::copy(*bytes, body.begin() + static_cast<std::ptrdiff_t>(place.at));
    return bytes.has_value();
}

}  // namespace

StampPlace stamp_place(const Dump& dump, std::size_t index) {
    const Entry& entry = dump.entries[index];
    const schema::Framing& framing = dump.device->framings[entry.framing];
    if (!entry.stamp) return {};
    if (entry.text) {
        return framing.named.stamp_of_file ? StampPlace{StampPlace::Kind::file, 0, 0}
                                           : StampPlace{StampPlace::Kind::body, index, 0};
    }
    if (const auto message = stamp_message(dump, entry)) return {StampPlace::Kind::message, *message, 0};
    if (!framing.stamp) return {};
    if (entry.cut && !entry.cut->pieces.empty()) {
        return {StampPlace::Kind::image, entry.cut->image, image_byte(*entry.cut, framing.stamp->at)};
    }
    return {StampPlace::Kind::body, index, 0};
}

bool put_stamp(Dump& dump, std::size_t index, const schema::Stamp& stamp, ByteView original) {
    Entry& entry = dump.entries[index];
    const StampPlace place = stamp_place(dump, index);
    if (entry.text) {
        if (!put_named_stamp(dump, index, stamp, original)) return false;
    } else if (place.kind == StampPlace::Kind::message) {
        Message& message = dump.messages[place.which];
        const auto capture = find_capture(pattern_of(dump, message), "stamp");
        const auto bytes = captured(*capture->part, message.captures[capture->index], stamp);
        if (!bytes) return false;
        message.captures[capture->index] = *bytes;
    } else if (place.kind == StampPlace::Kind::nowhere ||
               !put_in_body(*dump.device->framings[entry.framing].stamp, stamp, entry.body)) {
        return false;
    }
    entry.stamp = stamp;
    return true;
}

}  // namespace downfit::dump
