#include "midi/standard_midi_file.h"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "midi/byte_problem.h"

namespace downfit::midi {

namespace {

constexpr std::size_t chunk_head = 8;
constexpr std::array<std::uint8_t, 4> header_type{'M', 'T', 'h', 'd'};
constexpr std::array<std::uint8_t, 4> track_type{'M', 'T', 'r', 'k'};

std::uint32_t big_endian(ByteView bytes) {
    std::uint32_t value = 0;
    for (const std::uint8_t byte : bytes) value = value << 8 | byte;
    return value;
}

bool has_type(ByteView bytes, const std::array<std::uint8_t, 4>& type) {
    return bytes.size() >= type.size() && std::equal(type.begin(), type.end(), bytes.begin());
}

/// Reads the events of one track chunk. `begin` and `end` are offsets in the whole file.
class TrackReader {
public:
    TrackReader(ByteView file, std::size_t begin, std::size_t end, StandardMidiFile& result, Problems& noticed)
        : file_(file), at_(begin), end_(end), track_(result.tracks.size()), result_(result), noticed_(noticed) {}

    void read() {
        std::size_t events = 0;
        while (at_ < end_ && !ended_ && read_event()) ++events;
        if (open_) leave_open("at the end of the track");
        if (!ended_ && !broken_) notice(end_, 0, "the track has no end-of-track event", "FF 2F 00");
        if (ended_ && at_ < end_) notice(at_, end_ - at_, "bytes follow the end of the track", "nothing");
        result_.tracks.push_back({events, tick_});
    }

private:
    void notice(std::size_t offset, std::size_t length, std::string what, std::string expected) {
        noticed_.push_back(byte_problem(offset, length, std::move(what), std::move(expected)));
    }

    /// What follows in the track cannot be read.
    bool give_up(std::string what, std::string expected) {
        notice(at_, end_ - at_, std::move(what) + "; the rest of the track is not read", std::move(expected));
        broken_ = true;
        return false;
    }

    std::optional<std::uint32_t> quantity() {
        const Result<Quantity> read = read_quantity(file_.subspan(at_, end_ - at_));
        if (!read) {
            give_up("a variable-length quantity does not end", "at most four bytes, the last below 80");
            return std::nullopt;
        }
        at_ += read.value().length;
        return read.value().value;
    }

    bool read_event() {
        const std::optional<std::uint32_t> delta = quantity();
        if (!delta) return false;
        tick_ += *delta;
        if (at_ >= end_) return give_up("an event is cut off", "a status byte");
        const std::uint8_t first = file_[at_];
        if (first == 0xF0 || first == 0xF7) return read_exclusive(first);
        if (first == 0xFF) return read_meta();
        return read_channel_message(first);
    }

    bool read_exclusive(std::uint8_t status) {
        running_ = 0;
        const std::size_t start = at_++;
        const std::optional<std::uint32_t> length = quantity();
        if (!length) return false;
        if (*length > end_ - at_) return give_up("a System Exclusive event runs past the end of its track", {});
        const ByteSpan data{at_, *length};
        at_ += *length;
        if (status == 0xF0) {
            if (open_) leave_open("before the next message");
            result_.messages.push_back({track_, tick_, {{start, 1}, data}, false});
            open_ = true;
        } else if (open_) {
            result_.messages.back().pieces.push_back(data);
        } else {
            result_.messages.push_back({track_, tick_, {data}, true});
            return true;
        }
        look_at(data);
        return true;
    }

    /// Ends the message where its packet ends with F7, and tells what does not belong into one.
    void look_at(const ByteSpan& data) {
        const ByteView bytes = file_.subspan(data.offset, data.length);
        const bool last = !bytes.empty() && bytes.back() == 0xF7;
        for (std::size_t i = 0; i + (last ? 1 : 0) < bytes.size(); ++i) {
            if (bytes[i] < 0x80) continue;
            notice(data.offset + i, 1, "a System Exclusive event holds the byte " + hex_byte(bytes[i]),
                   "data bytes, below 80, up to its F7");
        }
        open_ = !last;
    }

    void leave_open(const std::string& when) {
        const ByteSpan& first = result_.messages.back().pieces.front();
        notice(first.offset, first.length, "a System Exclusive message is not ended " + when,
               "a last packet that ends with F7");
        open_ = false;
    }

    bool read_meta() {
        running_ = 0;
        if (end_ - at_ < 2) return give_up("a meta event is cut off", "FF, a type, a length");
        const std::uint8_t type = file_[at_ + 1];
        at_ += 2;
        const std::optional<std::uint32_t> length = quantity();
        if (!length) return false;
        if (*length > end_ - at_) return give_up("a meta event runs past the end of its track", {});
        at_ += *length;
        constexpr std::uint8_t end_of_track = 0x2F;
        ended_ = type == end_of_track;
        return true;
    }

    bool read_channel_message(std::uint8_t first) {
        if (first >= 0x80) {
            if (first >= 0xF0)
                return give_up("a track holds the status byte " + hex_byte(first), "F0, F7, FF, 80 to EF");
            running_ = first;
            ++at_;
        } else if (running_ == 0) {
            return give_up("a data byte stands where an event should begin", "a status byte");
        }
        if (open_) leave_open("before another event");
        const bool one = (running_ & 0xF0) == 0xC0 || (running_ & 0xF0) == 0xD0;
        const std::size_t length = one ? 1 : 2;
        if (end_ - at_ < length) return give_up("an event is cut off", "its data bytes");
        at_ += length;
        return true;
    }

    ByteView file_;
    std::size_t at_, end_, track_;
    StandardMidiFile& result_;
    Problems& noticed_;
    std::uint64_t tick_ = 0;
    std::uint8_t running_ = 0;
    bool open_ = false, ended_ = false, broken_ = false;
};

}  // namespace

Result<Quantity> read_quantity(ByteView bytes) {
    constexpr std::size_t longest = 4;
    Quantity quantity;
    for (const std::uint8_t byte : bytes.first(std::min(bytes.size(), longest))) {
        quantity.value = quantity.value << 7 | (byte & 0x7Fu);
        ++quantity.length;
        if (byte < 0x80) return quantity;
    }
    return byte_problem(0, quantity.length, "a variable-length quantity does not end",
                        "at most four bytes, the last below 80");
}

std::pair<int, int> StandardMidiFile::frames_and_ticks() const {
    if (division < 0x8000) return {0, 0};
    return {256 - (division >> 8), division & 0xFF};
}

bool is_standard_midi_file(ByteView bytes) {
    return has_type(bytes, header_type);
}

Result<StandardMidiFile> read_standard_midi_file(ByteView bytes, Problems& noticed) {
    constexpr std::size_t header_length = 6;
    if (!is_standard_midi_file(bytes) || bytes.size() < chunk_head + header_length ||
        big_endian(bytes.subspan(4, 4)) < header_length) {
        return byte_problem(0, std::min(bytes.size(), chunk_head), "the MIDI file has no whole header",
                            "MThd, a length of at least 6, format, tracks and division");
    }
    StandardMidiFile file;
    file.format = static_cast<int>(big_endian(bytes.subspan(8, 2)));
    const std::size_t announced = big_endian(bytes.subspan(10, 2));
    file.division = static_cast<std::uint16_t>(big_endian(bytes.subspan(12, 2)));
    if (file.format > 2) {
        return byte_problem(8, 2, "the MIDI file has format " + std::to_string(file.format), "0, 1 or 2");
    }
    std::size_t at = 0;
    while (at < bytes.size()) {
        if (bytes.size() - at < chunk_head) {
            noticed.push_back(byte_problem(at, bytes.size() - at, "bytes follow the last chunk", "a whole chunk"));
            break;
        }
        const bool is_track = has_type(bytes.subspan(at), track_type);
        const std::size_t length = big_endian(bytes.subspan(at + 4, 4));
        const std::size_t begin = at + chunk_head;
        const std::size_t end = begin + std::min(length, bytes.size() - begin);
        if (length > bytes.size() - begin) {
            noticed.push_back(byte_problem(at, bytes.size() - at, "a chunk is cut off by the end of the file", {}));
        }
        if (is_track) TrackReader(bytes, begin, end, file, noticed).read();
        at = end;
    }
    if (file.tracks.size() != announced) {
        noticed.push_back(byte_problem(10, 2,
                                       "the header counts tracks otherwise: " + std::to_string(announced) + " for " +
                                           std::to_string(file.tracks.size()),
                                       {}));
    }
    if (file.format != 2) std::ranges::stable_sort(file.messages, {}, &FileMessage::tick);
    return file;
}

Bytes stream_of(std::span<const FileMessage> messages, ByteView file) {
    Bytes stream;
    for (const FileMessage& message : messages) {
        for (const ByteSpan& piece : message.pieces) {
            const ByteView bytes = file.subspan(piece.offset, piece.length);
            stream.insert(stream.end(), bytes.begin(), bytes.end());
        }
    }
    return stream;
}

}  // namespace downfit::midi
