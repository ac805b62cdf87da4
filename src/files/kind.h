// What a file is, by its content: enough to open archives, and to tell people what they gave instead of a dump.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>

#include "base/bytes.h"

namespace downfit::files {

enum class Kind {
    empty,
    exclusive,      ///< begins with F0: a System Exclusive stream, perhaps
    midi_file,      ///< a Standard MIDI File
    gzip,           ///< RFC 1952
    zip,            ///< also an empty one, and one in several parts
    other_archive,  ///< 7-Zip, RAR, tar, xz, bzip2, zstd
    picture,
    sound,
    document,    ///< PDF
    program,     ///< for a computer
    hex_image,   ///< memory as hexadecimal text: Intel HEX or Motorola S-records
    xml,         ///< a text that begins with a tag
    json,        ///< a text that begins with { or [
    text,        ///< any other text
    other_bytes  ///< none of these
};

/// A kind as people call it, for one and for several.
struct KindRow {
    Kind kind;
    std::string_view one, several;
};

/// Every kind, in the order of the enum.
inline constexpr std::array<KindRow, 15> kinds{{
    {Kind::empty, "empty file", "empty files"},
    {Kind::exclusive, "System Exclusive stream", "System Exclusive streams"},
    {Kind::midi_file, "MIDI file", "MIDI files"},
    {Kind::gzip, "gzip file", "gzip files"},
    {Kind::zip, "zip archive", "zip archives"},
    {Kind::other_archive, "archive of a kind that is not opened here", "archives of a kind that is not opened here"},
    {Kind::picture, "picture", "pictures"},
    {Kind::sound, "sound file", "sound files"},
    {Kind::document, "PDF document", "PDF documents"},
    {Kind::program, "computer program", "computer programs"},
    {Kind::hex_image, "memory image as hexadecimal text, perhaps a firmware update",
     "memory images as hexadecimal text, perhaps firmware updates"},
    {Kind::xml, "XML text", "XML texts"},
    {Kind::json, "JSON text", "JSON texts"},
    {Kind::text, "text", "texts"},
    {Kind::other_bytes, "binary file, perhaps a firmware update", "binary files, perhaps firmware updates"},
}};

[[nodiscard]] const KindRow& row_of(Kind kind);

/// What these bytes are. Signatures are those that the formats' own descriptions give.
[[nodiscard]] Kind kind_of(ByteView bytes);

/// "2 pictures, 1 text" in the order of the table; empty for none.
[[nodiscard]] std::string counted(std::span<const Kind> of);

}  // namespace downfit::files
