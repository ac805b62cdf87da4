#include "files/kind.h"

#include <algorithm>
#include <cctype>
#include <cstdint>

#include "base/text.h"

namespace downfit::files {

namespace {

using namespace std::string_view_literals;

constexpr bool in_enum_order() {
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        if (static_cast<std::size_t>(kinds[i].kind) != i) return false;
    }
    return static_cast<std::size_t>(Kind::other_bytes) + 1 == kinds.size();
}
static_assert(in_enum_order());

struct Signature {
    Kind kind;
    std::size_t offset;
    std::string_view bytes;
};

/// The first that fits counts.
constexpr Signature signatures[] = {
    {Kind::exclusive, 0, "\xF0"sv},
    {Kind::midi_file, 0, "MThd"sv},
    {Kind::gzip, 0, "\x1F\x8B"sv},                     // RFC 1952, 2.3.1
    {Kind::zip, 0, "PK\3\4"sv},                        // APPNOTE 4.3.7: a file in it
    {Kind::zip, 0, "PK\5\6"sv},                        // 4.3.16: none in it
    {Kind::zip, 0, "PK\7\10"sv},                       // 8.5.3: one of several parts
    {Kind::other_archive, 0, "7z\xBC\xAF\x27\x1C"sv},  // 7-Zip's own description
    {Kind::other_archive, 0, "Rar!\x1A\x07"sv},        // RAR's technical note
    {Kind::other_archive, 0,
     "\xFD"
     "7zXZ\0"sv},                                    // the .xz file format, 2.1.1.1
    {Kind::other_archive, 0, "BZh"sv},               // from memory
    {Kind::other_archive, 0, "\x28\xB5\x2F\xFD"sv},  // RFC 8878, 3.1.1
    {Kind::other_archive, 257, "ustar"sv},           // POSIX.1, pax
    {Kind::picture, 0, "\x89PNG\r\n\x1A\n"sv},       // PNG, 5.2
    {Kind::picture, 0, "\xFF\xD8\xFF"sv},            // JPEG, B.1.1.3
    {Kind::picture, 0, "GIF8"sv},                    // GIF89a, 17
    {Kind::picture, 8, "WEBP"sv},                    // WebP's container
    {Kind::sound, 8, "WAVE"sv},                      // RIFF
    {Kind::sound, 8, "AIFF"sv},                      // AIFF 1.3
    {Kind::sound, 0, "fLaC"sv},                      // RFC 9639, 6
    {Kind::sound, 0, "OggS"sv},                      // RFC 3533, 6
    {Kind::sound, 0, "ID3"sv},                       // ID3v2, 3.1
    {Kind::document, 0, "%PDF-"sv},                  // ISO 32000, 7.5.2
    {Kind::program, 0,
     "\x7F"
     "ELF"sv},                                 // the ELF header
    {Kind::program, 0, "MZ"sv},                // the PE format, MS-DOS stub
    {Kind::program, 0, "\xCF\xFA\xED\xFE"sv},  // Mach-O, from memory
};

bool fits(std::string_view bytes, const Signature& signature) {
    return bytes.size() >= signature.offset && bytes.substr(signature.offset).starts_with(signature.bytes);
}

/// Intel HEX records begin with ':', Motorola's with 'S' and a digit; both go on with hexadecimal digits.
bool is_hex_image(std::string_view text) {
    const std::string_view line = text.substr(0, text.find_first_of("\r\n"));
    constexpr std::size_t shortest = 10;
    if (line.size() < shortest || (line[0] != ':' && line[0] != 'S')) return false;
    return std::all_of(line.begin() + 1, line.end(),
                       [](char c) { return std::isxdigit(static_cast<unsigned char>(c)); });
}

/// Whether these are characters and line ends only, in whatever coding: bytes that steer nothing.
bool is_text(std::string_view bytes) {
    return std::all_of(bytes.begin(), bytes.end(), [](char c) {
        const auto byte = static_cast<unsigned char>(c);
        return (byte >= 0x20 && byte != 0x7F) || c == '\t' || c == '\n' || c == '\r' || c == '\f';
    });
}

}  // namespace

const KindRow& row_of(Kind kind) {
    return kinds[static_cast<std::size_t>(kind)];
}

Kind kind_of(ByteView bytes) {
    if (bytes.empty()) return Kind::empty;
    constexpr std::size_t looked_at = 4096;
    const std::string head(bytes.begin(),
                           bytes.begin() + static_cast<std::ptrdiff_t>(std::min(bytes.size(), looked_at)));
    const auto* at = std::ranges::find_if(signatures, [&](const Signature& one) { return fits(head, one); });
    if (at != std::end(signatures)) return at->kind;
    if (!is_text(head)) return Kind::other_bytes;
    if (is_hex_image(head)) return Kind::hex_image;
    std::string_view rest = head;
    if (rest.starts_with(byte_order_mark)) rest.remove_prefix(byte_order_mark.size());
    rest.remove_prefix(std::min(rest.find_first_not_of(" \t\r\n"), rest.size()));
    if (rest.starts_with('<')) return Kind::xml;
    if (rest.starts_with('{') || rest.starts_with('[')) return Kind::json;
    return Kind::text;
}

std::string counted(std::span<const Kind> of) {
    std::string text;
    for (const KindRow& row : kinds) {
        const auto count = std::count(of.begin(), of.end(), row.kind);
        if (count == 0) continue;
        if (!text.empty()) text += ", ";
        append_number(text, count);
        text += ' ';
        text += count == 1 ? row.one : row.several;
    }
    return text;
}

}  // namespace downfit::files
