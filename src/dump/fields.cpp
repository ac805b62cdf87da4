#include "dump/fields.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstddef>
#include <limits>

#include "dump/text_values.h"

namespace downfit::dump {

namespace {

using schema::BitPiece;
using schema::Coding;
using schema::Storage;

constexpr unsigned most_bits = 64;

unsigned bits_of(const Storage& storage) {
    unsigned bits = 0;
    for (const BitPiece& piece : storage.pieces) bits += piece.width;
    return bits;
}

std::uint64_t low_bits(unsigned count) {
    return count >= most_bits ? ~std::uint64_t{0} : (std::uint64_t{1} << count) - 1;
}

bool lies_inside(const BitPiece& piece, std::size_t size) {
    return piece.byte >= 0 && static_cast<std::uint64_t>(piece.byte) < size;
}

bool lies_inside(const Storage& storage, std::size_t size) {
    if (bits_of(storage) == 0 || bits_of(storage) > most_bits) return false;
    for (const BitPiece& piece : storage.pieces) {
        if (!lies_inside(piece, size)) return false;
    }
    return true;
}

std::uint64_t gather_bits(const Storage& storage, ByteView body) {
    std::uint64_t bits = 0;
    for (const BitPiece& piece : storage.pieces) {
        const unsigned byte = body[static_cast<std::size_t>(piece.byte)];
        bits = bits << piece.width | ((byte >> piece.bit) & low_bits(piece.width));
    }
    return bits;
}

void scatter(const Storage& storage, std::uint64_t bits, Bytes& body) {
    for (std::size_t i = storage.pieces.size(); i-- > 0;) {
        const BitPiece& piece = storage.pieces[i];
        std::uint8_t& byte = body[static_cast<std::size_t>(piece.byte)];
        const auto mask = static_cast<unsigned>(low_bits(piece.width)) << piece.bit;
        const auto put = static_cast<unsigned>(bits & low_bits(piece.width)) << piece.bit;
        byte = static_cast<std::uint8_t>((byte & ~mask) | (put & mask));
        bits >>= piece.width;
    }
}

/// Two's complement arithmetic on purpose: C++20 defines the conversion.
std::int64_t as_signed(std::uint64_t bits) {
    return static_cast<std::int64_t>(bits);
}

std::int64_t decode_whole(Coding coding, std::uint64_t bits, unsigned width) {
    const std::uint64_t top = std::uint64_t{1} << (width - 1);
    switch (coding) {
        case Coding::twos_complement: return as_signed((bits ^ top) - top);
        case Coding::offset_binary: return as_signed(bits - top);
        case Coding::sign_magnitude: return as_signed((bits & top) ? std::uint64_t{0} - (bits ^ top) : bits);
        default: return as_signed(bits);
    }
}

std::uint64_t encode_whole(Coding coding, std::int64_t whole, unsigned width) {
    const std::uint64_t top = std::uint64_t{1} << (width - 1);
    const auto bits = static_cast<std::uint64_t>(whole);
    switch (coding) {
        case Coding::offset_binary: return (bits + top) & low_bits(width);
        case Coding::sign_magnitude: return whole < 0 ? (std::uint64_t{0} - bits) | top : bits;
        default: return bits & low_bits(width);
    }
}

bool is_whole(Coding coding) {
    return coding != Coding::float32 && coding != Coding::float64 && coding != Coding::text;
}

Stored read_text(const Storage& storage, ByteView body) {
    Stored stored;
    if (storage.text_at < 0 || storage.text_length == 0) return stored;
    const auto at = static_cast<std::uint64_t>(storage.text_at);
    if (at >= body.size()) return stored;
    const ByteView rest = body.subspan(static_cast<std::size_t>(at));
    std::size_t length = std::min(storage.text_length, rest.size());
    while (length > 0 && rest[length - 1] == storage.padding) --length;
    stored.kind = Stored::Kind::text;
    stored.text.assign(rest.begin(), rest.begin() + static_cast<std::ptrdiff_t>(length));
    return stored;
}

bool write_text(const Storage& storage, const std::string& text, Bytes& body) {
    if (storage.text_at < 0 || storage.text_length == 0 || text.size() > storage.text_length) return false;
    const auto at = static_cast<std::uint64_t>(storage.text_at);
    if (at >= body.size()) return false;
    const auto start = static_cast<std::size_t>(at);
    const std::size_t room = std::min(storage.text_length, body.size() - start);
    if (text.size() > room) return false;
    if (!text.empty() && static_cast<std::uint8_t>(text.back()) == storage.padding) return false;
    for (std::size_t i = 0; i < room; ++i) {
        body[start + i] = i < text.size() ? static_cast<std::uint8_t>(text[i]) : storage.padding;
    }
    return true;
}

/// The bit pattern of `stored`, or nullopt where the field cannot hold it.
std::optional<std::uint64_t> bits_for(const Storage& storage, const Stored& stored) {
    if (is_whole(storage.coding)) {
        if (stored.kind != Stored::Kind::whole) return std::nullopt;
        const unsigned width = bits_of(storage);
        const bool all_64 = storage.coding == Coding::unsigned_number && width == most_bits;
        if (!all_64 && (stored.whole < least_stored(storage) || stored.whole > most_stored(storage)))
            return std::nullopt;
        return encode_whole(storage.coding, stored.whole, width);
    }
    if (stored.kind != Stored::Kind::real) return std::nullopt;
    if (storage.coding == Coding::float64) return std::bit_cast<std::uint64_t>(stored.real);
    const bool fits =
        !std::isfinite(stored.real) || std::fabs(stored.real) <= static_cast<double>(std::numeric_limits<float>::max());
    if (!fits) return std::nullopt;
    const auto single = static_cast<float>(stored.real);
    if (!std::isnan(stored.real) && static_cast<double>(single) != stored.real) return std::nullopt;
    return std::bit_cast<std::uint32_t>(single);
}

bool float_width_fits(const Storage& storage) {
    if (storage.coding == Coding::float32) return bits_of(storage) == 32;
    return storage.coding != Coding::float64 || bits_of(storage) == most_bits;
}

}  // namespace

std::optional<std::uint64_t> read_bits(const Storage& storage, ByteView body) {
    const bool has_bits = storage.coding != Coding::text && storage.notation == schema::Notation::bytes;
    if (!has_bits || !lies_inside(storage, body.size())) return std::nullopt;
    return gather_bits(storage, body);
}

Stored read_field(const Storage& storage, ByteView body) {
    if (storage.notation != schema::Notation::bytes) return read_text_value(storage, body);
    if (storage.coding == Coding::text) return read_text(storage, body);
    Stored stored;
    const std::optional<std::uint64_t> bits = read_bits(storage, body);
    if (!bits || !float_width_fits(storage)) return stored;
    if (is_whole(storage.coding)) {
        stored.kind = Stored::Kind::whole;
        stored.whole = decode_whole(storage.coding, *bits, bits_of(storage));
        return stored;
    }
    stored.kind = Stored::Kind::real;
    stored.real = storage.coding == Coding::float64
                      ? std::bit_cast<double>(*bits)
                      : static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(*bits)));
    return stored;
}

bool write_field(const Storage& storage, const Stored& stored, Bytes& body) {
    if (storage.notation != schema::Notation::bytes) {
        const auto text = write_text_value(storage, stored, body);
        if (text) body.assign(text->begin(), text->end());
        return text.has_value();
    }
    if (storage.coding == Coding::text) {
        return stored.kind == Stored::Kind::text && write_text(storage, stored.text, body);
    }
    if (!lies_inside(storage, body.size()) || !float_width_fits(storage)) return false;
    const std::optional<std::uint64_t> bits = bits_for(storage, stored);
    if (!bits) return false;
    scatter(storage, *bits, body);
    return true;
}

std::int64_t least_stored(const Storage& storage) {
    if (storage.notation != schema::Notation::bytes) return std::numeric_limits<std::int64_t>::min();
    const unsigned width = bits_of(storage);
    if (width == 0) return 0;
    const std::int64_t half = as_signed(low_bits(width - 1));
    switch (storage.coding) {
        case Coding::twos_complement:
        case Coding::offset_binary: return -half - 1;
        case Coding::sign_magnitude: return -half;
        default: return 0;
    }
}

std::int64_t most_stored(const Storage& storage) {
    if (storage.notation != schema::Notation::bytes) return std::numeric_limits<std::int64_t>::max();
    const unsigned width = bits_of(storage);
    if (width == 0) return 0;
    const bool has_sign = storage.coding == Coding::twos_complement || storage.coding == Coding::offset_binary ||
                          storage.coding == Coding::sign_magnitude;
    if (has_sign) return as_signed(low_bits(width - 1));
    return width >= most_bits ? std::numeric_limits<std::int64_t>::max() : as_signed(low_bits(width));
}

}  // namespace downfit::dump
