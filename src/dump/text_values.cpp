#include "dump/text_values.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include <nlohmann/json.hpp>

#include "dump/document.h"

namespace downfit::dump {

namespace {

using schema::Coding;
using schema::Notation;
using schema::Storage;

constexpr double exact_whole = 9007199254740992.0;  // up to here every whole number is a double

std::string_view view_of(ByteView raw) {
    return {reinterpret_cast<const char*>(raw.data()), raw.size()};
}

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t first = text.find_first_not_of(blanks);
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(blanks) + 1 - first);
}

/// A number as it may be written: its sign apart, as from_chars knows neither "+" nor "0x".
struct NumberText {
    std::string_view digits;
    bool negative = false;
    bool hex = false;
};

NumberText number_text_of(std::string_view text) {
    NumberText number{trimmed(text), false, false};
    const auto take = [&](std::string_view start) {
        if (!number.digits.starts_with(start)) return false;
        number.digits.remove_prefix(start.size());
        return true;
    };
    number.negative = take("-");
    if (!number.negative) (void)take("+");
    number.hex = take("0x") || take("0X");
    return number;
}

template <class Real>
std::optional<Real> real_of(std::string_view text) {
    const NumberText number = number_text_of(text);
    const bool starts_right = !number.digits.empty() && number.digits.front() != '-' && number.digits.front() != '+';
    if (!starts_right) return std::nullopt;
    Real value = 0;
    const char* end = number.digits.data() + number.digits.size();
    const auto format = number.hex ? std::chars_format::hex : std::chars_format::general;
    const auto [stop, error] = std::from_chars(number.digits.data(), end, value, format);
    if (error != std::errc{} || stop != end) return std::nullopt;
    return number.negative ? -value : value;
}

std::optional<std::int64_t> whole_of(std::string_view text) {
    const NumberText number = number_text_of(text);
    std::int64_t value = 0;
    const std::string digits = (number.negative ? "-" : "") + std::string(number.digits);
    if (number.digits.empty() || number.digits.front() == '-' || number.digits.front() == '+') return std::nullopt;
    const char* end = digits.data() + digits.size();
    const auto [stop, error] = std::from_chars(digits.data(), end, value, number.hex ? 16 : 10);
    if (error != std::errc{} || stop != end) return std::nullopt;
    return value;
}

Stored whole_stored(std::int64_t number) {
    Stored stored;
    stored.kind = Stored::Kind::whole;
    stored.whole = number;
    return stored;
}

Stored real_stored(double number) {
    Stored stored;
    stored.kind = Stored::Kind::real;
    stored.real = number;
    return stored;
}

Stored read_word(const Storage& storage, const std::string& text) {
    const auto at = std::ranges::find(*storage.words, text, &schema::Word::text);
    Stored stored = whole_stored(at == storage.words->end() ? no_word : at->number);
    stored.text = text;
    return stored;
}

Stored read_number(const Storage& storage, const std::string& text) {
    if (storage.coding == Coding::float32) {
        const auto number = real_of<float>(text);
        return number ? real_stored(static_cast<double>(*number)) : Stored{};
    }
    if (storage.coding != Coding::float64) {
        if (const auto number = whole_of(text)) return whole_stored(*number);
    }
    const auto number = real_of<double>(text);
    if (!number) return {};
    if (storage.coding == Coding::float64) return real_stored(*number);
    if (!(std::abs(*number) <= exact_whole)) return {};
    if (*number == std::trunc(*number)) return whole_stored(static_cast<std::int64_t>(*number));
    // A number between two whole ones: whether it is rounded is the release's business.
    return storage.may_round ? real_stored(*number) : Stored{};
}

std::string escaped(const Storage& storage, const std::string& text, std::string_view raw) {
    if (storage.notation == Notation::json) return nlohmann::json(text).dump();
    if (raw.starts_with("<![CDATA[") && text.find("]]>") == std::string::npos) return "<![CDATA[" + text + "]]>";
    std::string out;
    for (const char c : text) {
        switch (c) {
            case '&': out += "&amp;"; break;
            case '<': out += "&lt;"; break;
            case '>': out += "&gt;"; break;
            case '"': out += "&quot;"; break;
            case '\'': out += "&apos;"; break;
            case '\n': out += "&#10;"; break;
            case '\t': out += "&#9;"; break;
            case '\r': out += "&#13;"; break;
            default: out += c;
        }
    }
    return out;
}

template <class Number, class... Format>
std::string chars_of(Number number, Format... format) {
    std::array<char, 400> buffer{};
    const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), number, format...);
    return error == std::errc{} ? std::string(buffer.data(), end) : std::string{};
}

std::string real_text(const Storage& storage, double number, bool hex) {
    const bool single = storage.coding == Coding::float32;
    if (!hex) return single ? chars_of(static_cast<float>(number)) : chars_of(number);
    const double size = std::abs(number);
    const std::string digits =
        single ? chars_of(static_cast<float>(size), std::chars_format::hex) : chars_of(size, std::chars_format::hex);
    return (std::signbit(number) ? "-0x" : "0x") + digits;
}

/// The text of a value, without quotes and escapes.
std::optional<std::string> plain_text(const Storage& storage, const Stored& stored, const std::string& old) {
    if (storage.coding == Coding::text) {
        if (stored.kind != Stored::Kind::text) return std::nullopt;
        return stored.text;
    }
    if (storage.words && stored.kind == Stored::Kind::whole) {
        const auto at = std::ranges::find(*storage.words, stored.whole, &schema::Word::number);
        if (at != storage.words->end()) return at->text;
        if (stored.whole == no_word) return stored.text;
    }
    const bool is_word = old == "true" || old == "false";
    if (is_word && stored.kind == Stored::Kind::whole && (stored.whole == 0 || stored.whole == 1)) {
        return std::string(stored.whole == 1 ? "true" : "false");
    }
    const bool hex = number_text_of(old).hex;
    const bool is_real = storage.coding == Coding::float32 || storage.coding == Coding::float64;
    if (stored.kind == Stored::Kind::real && (is_real || storage.may_round) && std::isfinite(stored.real)) {
        return real_text(storage, stored.real, hex);
    }
    if (stored.kind != Stored::Kind::whole || is_real) return std::nullopt;
    return chars_of(stored.whole);
}

}  // namespace

Stored read_text_value(const Storage& storage, ByteView raw) {
    if (raw.data() == nullptr) return {};
    const std::string_view source = view_of(raw);
    const bool json = storage.notation == Notation::json;
    const bool quoted = json && source.starts_with('"');
    if (json && (source.empty() || source == "null" || source.front() == '{' || source.front() == '[')) return {};
    const auto text = quoted ? decoded_json_text(source) : json ? std::string(source) : decoded_xml_text(source);
    if (!text) return {};
    if (storage.coding == Coding::text) {
        if (json && !quoted) return {};
        Stored stored;
        stored.kind = Stored::Kind::text;
        stored.text = *text;
        return stored;
    }
    const bool is_word = json ? quoted : !real_of<double>(*text);
    if (storage.words && is_word) {
        const std::string word(trimmed(*text));
        const bool known = std::ranges::find(*storage.words, word, &schema::Word::text) != storage.words->end();
        if (known || (word != "true" && word != "false")) return read_word(storage, word);
    }
    const std::string_view word = trimmed(*text);
    if (word == "true" || word == "false") return whole_stored(word == "true" ? 1 : 0);
    return read_number(storage, *text);
}

std::optional<std::string> write_text_value(const Storage& storage, const Stored& stored, ByteView raw) {
    if (raw.data() == nullptr) return std::nullopt;
    const std::string_view source = view_of(raw);
    const bool json = storage.notation == Notation::json;
    const bool quoted = json && source.starts_with('"');
    const auto old = quoted ? decoded_json_text(source) : json ? std::string(source) : decoded_xml_text(source);
    const auto text = plain_text(storage, stored, old.value_or(""));
    if (!text) return std::nullopt;
    const bool names = storage.words && stored.kind == Stored::Kind::whole && *text != "true" && *text != "false" &&
                       !real_of<double>(*text);
    const bool as_text = quoted || storage.coding == Coding::text || names;
    std::string written = as_text || !json ? escaped(storage, *text, source) : *text;
    const auto* bytes = reinterpret_cast<const std::uint8_t*>(written.data());
    const Stored again = read_text_value(storage, ByteView(bytes, written.size()));
    const bool same = again.kind == stored.kind && again.whole == stored.whole && again.real == stored.real &&
                      (stored.kind != Stored::Kind::text || again.text == stored.text);
    return same ? std::optional(std::move(written)) : std::nullopt;
}

}  // namespace downfit::dump
