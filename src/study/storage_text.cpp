#include "study/storage_text.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace downfit::study {

namespace {

using schema::BitPiece;
using schema::Coding;
using schema::Storage;

constexpr std::uint8_t byte_bits = 8;

std::string number(std::int64_t value) {
    return std::to_string(value);
}

std::string signed_text(Coding coding) {
    if (coding == Coding::twos_complement) return R"(, "signed": "twos-complement")";
    if (coding == Coding::offset_binary) return R"(, "signed": "offset")";
    return coding == Coding::sign_magnitude ? R"(, "signed": "sign-magnitude")" : "";
}

std::string text_storage(const Storage& storage) {
    std::string text =
        "\"at\": " + number(storage.text_at) + R"(, "as": "text", "length": )" + std::to_string(storage.text_length);
    if (storage.encoding == schema::Encoding::latin1) text += R"(, "encoding": "latin-1")";
    if (storage.encoding == schema::Encoding::utf8) text += R"(, "encoding": "utf-8")";
    if (storage.padding == 0) text += R"(, "padding": "\u0000")";
    if (storage.padding != 0 && storage.padding != ' ') {
        text += R"(, "padding": ")" + std::string(1, static_cast<char>(storage.padding)) + '"';
    }
    return text;
}

/// Whether the pieces are whole bytes one after another, in that direction.
bool runs(const std::vector<BitPiece>& pieces, std::int64_t direction) {
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        if (pieces[i].bit != 0 || pieces[i].width != byte_bits) return false;
        if (i > 0 && pieces[i].byte != pieces[i - 1].byte + direction) return false;
    }
    return true;
}

/// "uint16", "float32"; empty where there is no such word.
std::string word(Coding coding, std::size_t bytes) {
    if (coding == Coding::float32) return "float32";
    if (coding == Coding::float64) return "float64";
    if (bytes > 4) return {};
    const std::string bits = std::to_string(bytes * byte_bits);
    if (coding == Coding::unsigned_number) return "uint" + bits;
    return coding == Coding::twos_complement ? "int" + bits : std::string();
}

std::string pieces_text(const Storage& storage) {
    std::string text = "\"at\": [";
    for (const BitPiece& piece : storage.pieces) {
        if (text.back() != '[') text += ", ";
        text += "{\"byte\": " + number(piece.byte) + ", \"bit\": " + std::to_string(piece.bit) +
                ", \"width\": " + std::to_string(piece.width) + '}';
    }
    return text + ']' + signed_text(storage.coding);
}

}  // namespace

std::string storage_text(const Storage& storage) {
    if (storage.coding == Coding::text) return text_storage(storage);
    const std::vector<BitPiece>& pieces = storage.pieces;
    const bool big = runs(pieces, 1);
    const bool little = runs(pieces, -1);
    const std::string as = big || little ? word(storage.coding, pieces.size()) : std::string();
    if (!as.empty()) {
        std::string text = "\"at\": " + number(std::min(pieces.front().byte, pieces.back().byte));
        if (as != "uint8") text += ", \"as\": \"" + as + '"';
        return text + (big ? "" : R"(, "order": "little")");
    }
    if (pieces.size() > 1) return pieces_text(storage);
    return "\"at\": " + number(pieces.front().byte) + R"(, "as": "bits", "bit": )" +
           std::to_string(pieces.front().bit) + ", \"width\": " + std::to_string(pieces.front().width) +
           signed_text(storage.coding);
}

bool has_few_digits(double number) {
    constexpr double six_digits = 1e6, decimals = 1e3;
    if (!std::isfinite(number) || std::fabs(number) >= six_digits) return false;
    if (number == 0) return true;
    const double scale = std::pow(10.0, 5 - std::floor(std::log10(std::fabs(number))));
    const auto same = [number](double rounded) { return static_cast<float>(rounded) == static_cast<float>(number); };
    return same(std::round(number * scale) / scale) && same(std::round(number * decimals) / decimals);
}

Storage whole_bytes(std::size_t at, std::size_t count, bool little_endian, Coding coding) {
    return low_bits_of(at, count, byte_bits, little_endian, coding);
}

Storage low_bits_of(std::size_t at, std::size_t count, unsigned bits, bool low_first, Coding coding) {
    Storage storage;
    storage.coding = coding;
    for (std::size_t i = 0; i < count; ++i) {
        storage.pieces.push_back({static_cast<std::int64_t>(at + i), 0, static_cast<std::uint8_t>(bits)});
    }
    if (low_first) std::reverse(storage.pieces.begin(), storage.pieces.end());
    return storage;
}

Storage bits_of(std::size_t at, unsigned bit, unsigned width, Coding coding) {
    Storage storage;
    storage.coding = coding;
    storage.pieces.push_back(
        {static_cast<std::int64_t>(at), static_cast<std::uint8_t>(bit), static_cast<std::uint8_t>(width)});
    return storage;
}

}  // namespace downfit::study
