#include <cstdint>

#include "dump/document.h"
#include "dump/tree.h"

namespace downfit::dump {

namespace {

constexpr char replacement[] = "\xEF\xBF\xBD";  // U+FFFD

bool is_control(std::uint8_t byte) {
    return byte < 0x20 || byte == 0x7F;
}

bool continues(const std::string& raw, std::size_t at, std::uint8_t least = 0x80, std::uint8_t most = 0xBF) {
    return at < raw.size() && static_cast<std::uint8_t>(raw[at]) >= least && static_cast<std::uint8_t>(raw[at]) <= most;
}

struct Sequence {
    std::size_t length = 1;  ///< of a broken one: how much of it one replacement stands for
    bool good = false;
};

/// A sequence of two bytes or more, by the table of well-formed sequences in the Unicode Standard, chapter 3.
Sequence sequence_at(const std::string& raw, std::size_t at) {
    const auto lead = static_cast<std::uint8_t>(raw[at]);
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4) return {};
    const std::uint8_t least = lead == 0xE0 ? 0xA0 : lead == 0xF0 ? 0x90 : 0x80;
    const std::uint8_t most = lead == 0xED ? 0x9F : lead == 0xF4 ? 0x8F : 0xBF;
    if (!continues(raw, at + 1, least, most)) return {};
    for (std::size_t i = 2; i < length; ++i) {
        if (!continues(raw, at + i)) return {i, false};
    }
    return {length, true};
}

void append_latin1(std::string& text, std::uint8_t byte) {
    text += static_cast<char>(0xC0 | (byte >> 6));
    text += static_cast<char>(0x80 | (byte & 0x3F));
}

}  // namespace

std::optional<std::size_t> first_not_utf8(const std::string& text) {
    for (std::size_t at = 0; at < text.size();) {
        if (static_cast<std::uint8_t>(text[at]) < 0x80) {
            ++at;
            continue;
        }
        const Sequence sequence = sequence_at(text, at);
        if (!sequence.good) return at;
        at += sequence.length;
    }
    return std::nullopt;
}

Utf8Text to_utf8(const std::string& raw, schema::Encoding encoding) {
    Utf8Text result;
    const auto replace = [&] {
        result.text += replacement;
        result.complete = false;
    };
    for (std::size_t at = 0; at < raw.size();) {
        const auto byte = static_cast<std::uint8_t>(raw[at]);
        std::size_t used = 1;
        if (is_control(byte)) {
            replace();
        } else if (byte < 0x80) {
            result.text += raw[at];
        } else if (encoding == schema::Encoding::latin1 && byte >= 0xA0) {
            append_latin1(result.text, byte);
        } else if (encoding == schema::Encoding::utf8) {
            const Sequence sequence = sequence_at(raw, at);
            used = sequence.length;
            if (sequence.good)
                result.text.append(raw, at, used);
            else
                replace();
        } else {
            replace();
        }
        at += used;
    }
    return result;
}

}  // namespace downfit::dump
