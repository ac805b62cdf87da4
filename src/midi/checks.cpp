#define ZLIB_CONST
#include "midi/checks.h"

#include <zlib.h>

#include <algorithm>
#include <cstddef>

namespace downfit::midi {

namespace {

struct ModelRow {
    Check check;
    CrcModel model;
};

constexpr std::array<ModelRow, 14> models{{
    {Check::crc_8_smbus, {8, 0x07, 0x00, false, false, 0x00}},
    {Check::crc_16_ccitt_false, {16, 0x1021, 0xFFFF, false, false, 0x0000}},
    {Check::crc_16_xmodem, {16, 0x1021, 0x0000, false, false, 0x0000}},
    {Check::crc_16_kermit, {16, 0x1021, 0x0000, true, true, 0x0000}},
    {Check::crc_16_x_25, {16, 0x1021, 0xFFFF, true, true, 0xFFFF}},
    {Check::crc_16_arc, {16, 0x8005, 0x0000, true, true, 0x0000}},
    {Check::crc_16_modbus, {16, 0x8005, 0xFFFF, true, true, 0x0000}},
    {Check::crc_16_usb, {16, 0x8005, 0xFFFF, true, true, 0xFFFF}},
    {Check::crc_16_aug_ccitt, {16, 0x1021, 0x1D0F, false, false, 0x0000}},
    {Check::crc_16_genibus, {16, 0x1021, 0xFFFF, false, false, 0xFFFF}},
    {Check::crc_16_mcrf4xx, {16, 0x1021, 0xFFFF, true, true, 0x0000}},
    {Check::crc_32c, {32, 0x1EDC6F41, 0xFFFFFFFF, true, true, 0xFFFFFFFF}},
    {Check::crc_32_bzip2, {32, 0x04C11DB7, 0xFFFFFFFF, false, false, 0xFFFFFFFF}},
    {Check::crc_32_mpeg_2, {32, 0x04C11DB7, 0xFFFFFFFF, false, false, 0x00000000}},
}};

constexpr bool checks_in_order() {
    for (std::size_t i = 0; i < checks.size(); ++i) {
        if (static_cast<std::size_t>(checks[i].check) != i) return false;
    }
    return static_cast<std::size_t>(Check::adler_32) + 1 == checks.size();
}
static_assert(checks_in_order());

using LibraryCheck = uLong (*)(uLong, const Bytef*, uInt);

/// zlib counts bytes in an unsigned int, which a long run may not fit.
std::uint32_t run_through(LibraryCheck check, std::uint32_t state, ByteView bytes) {
    constexpr std::size_t most = std::size_t{1} << 30;
    while (!bytes.empty()) {
        const ByteView run = bytes.first(std::min(most, bytes.size()));
        state = static_cast<std::uint32_t>(check(state, run.data(), static_cast<uInt>(run.size())));
        bytes = bytes.subspan(run.size());
    }
    return state;
}

}  // namespace

std::optional<Check> find_check(std::string_view name) {
    const auto row = std::ranges::find(checks, name, &CheckRow::name);
    if (row == checks.end()) return std::nullopt;
    return row->check;
}

std::string_view name(Check check) {
    return checks[static_cast<std::size_t>(check)].name;
}

unsigned width(Check check) {
    return checks[static_cast<std::size_t>(check)].width;
}

std::optional<CrcModel> crc_model(Check check) {
    const auto row = std::ranges::find(models, check, &ModelRow::check);
    if (row == models.end()) return std::nullopt;
    return row->model;
}

Checker::Checker(Check check) : check_(check), state_(check == Check::adler_32 ? 1 : 0) {
    if (const auto model = crc_model(check)) crc_.emplace(*model);
}

void Checker::add(ByteView bytes) {
    if (crc_) {
        crc_->add(bytes);
        return;
    }
    switch (check_) {
        case Check::crc_32: state_ = run_through(&crc32, state_, bytes); break;
        case Check::adler_32: state_ = run_through(&adler32, state_, bytes); break;
        case Check::xor_7:
        case Check::xor_8:
            for (const std::uint8_t byte : bytes) state_ ^= byte;
            break;
        default:
            for (const std::uint8_t byte : bytes) state_ += byte;
    }
}

std::uint32_t Checker::value() const {
    if (crc_) return crc_->value();
    switch (check_) {
        case Check::sum_7_complement: return (0u - state_) & 0x7F;
        case Check::sum_8_complement: return (0u - state_) & 0xFF;
        case Check::sum_7:
        case Check::xor_7: return state_ & 0x7F;
        case Check::sum_8:
        case Check::xor_8: return state_ & 0xFF;
        default: return state_;
    }
}

std::uint32_t compute(Check check, ByteView bytes) {
    Checker checker(check);
    checker.add(bytes);
    return checker.value();
}

}  // namespace downfit::midi
