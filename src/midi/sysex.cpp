#include "midi/sysex.h"

#include <algorithm>

#include "midi/byte_problem.h"
#include "midi/manufacturer.h"

namespace downfit::midi {

namespace {

constexpr std::uint8_t start_of_exclusive = 0xF0;
constexpr std::uint8_t end_of_exclusive = 0xF7;
constexpr std::uint8_t first_real_time = 0xF8;
constexpr std::uint8_t last_data = 0x7F;

constexpr bool damages_in_order() {
    for (std::size_t i = 0; i < damages.size(); ++i) {
        if (static_cast<std::size_t>(damages[i].damage) != i) return false;
    }
    return static_cast<std::size_t>(Damage::no_manufacturer_id) + 1 == damages.size();
}
static_assert(damages_in_order());

bool is_undefined(std::uint8_t status) {
    return status == 0xF4 || status == 0xF5;
}

}  // namespace

std::string_view text(Damage damage) {
    return damages[static_cast<std::size_t>(damage)].text;
}

std::optional<Item> SysexReader::next() {
    if (position_ == bytes_.size()) return std::nullopt;
    return bytes_[position_] == start_of_exclusive ? read_message() : read_junk();
}

Item SysexReader::read_junk() {
    const std::size_t begin = position_;
    const auto from = bytes_.begin() + static_cast<std::ptrdiff_t>(begin);
    const auto start = std::find(from, bytes_.end(), start_of_exclusive);
    position_ += static_cast<std::size_t>(start - from);
    Item item;
    item.span = {file_offset_ + begin, position_ - begin};
    return item;
}

Item SysexReader::read_message() {
    const std::size_t begin = position_++;
    Item item;
    item.kind = ItemKind::damaged;
    item.damage = Damage::missing_end;
    for (; position_ < bytes_.size(); ++position_) {
        const std::uint8_t byte = bytes_[position_];
        const std::size_t offset = file_offset_ + position_;
        if (byte <= last_data) {
            item.content.push_back(byte);
        } else if (byte >= first_real_time) {
            item.real_time.push_back({offset, byte});
        } else if (byte == end_of_exclusive) {
            ++position_;
            const bool whole = parse_manufacturer_id(item.content).has_value();
            item.kind = whole ? ItemKind::message : ItemKind::damaged;
            item.damage = whole ? Damage::none : Damage::no_manufacturer_id;
            break;
        } else {
            item.damage = is_undefined(byte) ? Damage::ended_by_undefined_status : Damage::ended_by_status;
            item.ended_by = StatusByte{offset, byte};
            break;
        }
    }
    item.span = {file_offset_ + begin, position_ - begin};
    return item;
}

std::vector<Item> read_sysex(ByteView bytes, std::size_t file_offset) {
    std::vector<Item> items;
    SysexReader reader(bytes, file_offset);
    while (auto item = reader.next()) items.push_back(*std::move(item));
    return items;
}

std::size_t content_offset(const Item& item, std::size_t index) {
    std::size_t offset = item.span.offset + 1 + index;
    for (const StatusByte& byte : item.real_time) {
        if (byte.offset > offset) break;
        ++offset;
    }
    return offset;
}

Result<Bytes> frame(ByteView content, std::span<const StatusByte> real_time, std::size_t start) {
    for (std::size_t i = 0; i < content.size(); ++i) {
        if (content[i] > last_data) {
            return byte_problem(i, 1, "byte " + hex_byte(content[i]) + " cannot be sent as data", "00 to 7F");
        }
    }
    if (!parse_manufacturer_id(content)) {
        return byte_problem(0, content.size(), "the message has no manufacturer id", "one byte, or 00 and two more");
    }
    Bytes out{start_of_exclusive};
    out.reserve(content.size() + real_time.size() + 2);
    std::size_t used = 0;
    const auto put_content_up_to = [&](std::size_t offset) {
        while (used < content.size() && start + out.size() < offset) out.push_back(content[used++]);
    };
    for (const StatusByte& byte : real_time) {
        if (byte.value < first_real_time) {
            return byte_problem(byte.offset, 1, "byte " + hex_byte(byte.value) + " is not real time", "F8 to FF");
        }
        put_content_up_to(byte.offset);
        if (start + out.size() != byte.offset) {
            return byte_problem(byte.offset, 1, "the real-time byte lies outside the message or out of order",
                                "an offset between F0 and F7, above the one before it");
        }
        out.push_back(byte.value);
    }
    out.insert(out.end(), content.begin() + static_cast<std::ptrdiff_t>(used), content.end());
    out.push_back(end_of_exclusive);
    return out;
}

}  // namespace downfit::midi
