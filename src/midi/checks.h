// Check values over runs of bytes: sums, exclusive-ors, CRCs and Adler-32, each under a name.
//
// Which bytes a check covers, and how its value is written down, is the layout's business.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "base/bytes.h"
#include "midi/crc.h"

namespace downfit::midi {

/// Every check there is.
enum class Check {
    sum_7,             ///< the sum of all bytes, low 7 bits
    sum_7_complement,  ///< what makes the sum a multiple of 128: (128 - sum mod 128) mod 128
    xor_7,             ///< the exclusive-or of all bytes, low 7 bits
    sum_8,             ///< the sum of all bytes, low 8 bits
    sum_8_complement,  ///< what makes the sum a multiple of 256: (256 - sum mod 256) mod 256
    xor_8,             ///< the exclusive-or of all bytes
    crc_8_smbus,
    crc_16_ccitt_false,  ///< IBM-3740
    crc_16_xmodem,
    crc_16_kermit,
    crc_16_x_25,  ///< IBM-SDLC
    crc_16_arc,
    crc_16_modbus,
    crc_16_usb,
    crc_16_aug_ccitt,  ///< SPI-FUJITSU
    crc_16_genibus,
    crc_16_mcrf4xx,
    crc_32,  ///< ISO-HDLC: the one of zlib and gzip
    crc_32c,
    crc_32_bzip2,
    crc_32_mpeg_2,
    adler_32,  ///< RFC 1950
};

/// A check, its name in layouts, and its width in bits.
struct CheckRow {
    Check check;
    std::string_view name;
    unsigned width;
};

/// Every check, in the order of the enum.
inline constexpr std::array<CheckRow, 22> checks{{
    {Check::sum_7, "sum-7", 7},
    {Check::sum_7_complement, "sum-7-complement", 7},
    {Check::xor_7, "xor-7", 7},
    {Check::sum_8, "sum-8", 8},
    {Check::sum_8_complement, "sum-8-complement", 8},
    {Check::xor_8, "xor-8", 8},
    {Check::crc_8_smbus, "crc-8/smbus", 8},
    {Check::crc_16_ccitt_false, "crc-16/ccitt-false", 16},
    {Check::crc_16_xmodem, "crc-16/xmodem", 16},
    {Check::crc_16_kermit, "crc-16/kermit", 16},
    {Check::crc_16_x_25, "crc-16/x-25", 16},
    {Check::crc_16_arc, "crc-16/arc", 16},
    {Check::crc_16_modbus, "crc-16/modbus", 16},
    {Check::crc_16_usb, "crc-16/usb", 16},
    {Check::crc_16_aug_ccitt, "crc-16/aug-ccitt", 16},
    {Check::crc_16_genibus, "crc-16/genibus", 16},
    {Check::crc_16_mcrf4xx, "crc-16/mcrf4xx", 16},
    {Check::crc_32, "crc-32", 32},
    {Check::crc_32c, "crc-32c", 32},
    {Check::crc_32_bzip2, "crc-32/bzip2", 32},
    {Check::crc_32_mpeg_2, "crc-32/mpeg-2", 32},
    {Check::adler_32, "adler-32", 32},
}};

/// The check of that name; nothing if there is none. Names are compared byte by byte.
[[nodiscard]] std::optional<Check> find_check(std::string_view name);

/// The check's name.
[[nodiscard]] std::string_view name(Check check);

/// The check's width in bits: its values are below 2 to that power.
[[nodiscard]] unsigned width(Check check);

/// The parameters of a check computed by the general CRC; nothing for the others (CRC-32 is zlib's work too).
[[nodiscard]] std::optional<CrcModel> crc_model(Check check);

/// A check over bytes that come in several runs. Cutting them differently gives the same value.
class Checker {
public:
    /// Starts with no bytes.
    explicit Checker(Check check);

    /// Goes on with `bytes`, which may be none.
    void add(ByteView bytes);

    /// The check of the bytes so far; more may follow.
    [[nodiscard]] std::uint32_t value() const;

private:
    Check check_;
    std::uint32_t state_;
    std::optional<Crc> crc_;
};

/// The check of one run of bytes, which may be empty.
[[nodiscard]] std::uint32_t compute(Check check, ByteView bytes);

}  // namespace downfit::midi
