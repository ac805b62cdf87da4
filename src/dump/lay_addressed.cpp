#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "base/limits.h"
#include "base/text.h"
#include "dump/image.h"

namespace downfit::dump {

namespace {

constexpr std::size_t largest_image = std::size_t{limits::largest_body};

enum class Cover : std::uint8_t { none, doubtful, sound };

std::string address_text(std::size_t address) {
    return hex_text(address, 4);
}

std::string span_text(ByteSpan span) {
    if (span.length == 1) return "byte " + address_text(span.offset) + " of the image";
    return "bytes " + address_text(span.offset) + " to " + address_text(span.offset + span.length - 1) +
           " of the image";
}

/// Lays payloads at their addresses.
class Map {
public:
    Map(const AssemblyInput& input, const Series& series)
        : input_(input),
          framing_(input.device.framings[input.framing]),
          readings_(input.findings.readings[input.framing]),
          series_(series) {}

    Laid lay() {
        find_places();
        find_usual_length();
        laid_.bytes.resize(size_);
        cover_.resize(size_, Cover::none);
        owner_.resize(size_);
        for (const Placed& placed : placed_) {
            if (placed.trusted && !may_lack(placed)) lay_sound(placed);
        }
        for (Placed& placed : placed_) {
            if (!placed.trusted || !may_lack(placed)) continue;
            if (has_gap_behind(placed)) {
                placed.trusted = false;
            } else {
                lay_sound(placed);
            }
        }
        for (const Placed& placed : placed_) {
            if (!placed.trusted && placed.readable) lay_doubtful(placed);
        }
        for (const Placed& placed : placed_) {
            if (!placed.readable) tell_unreadable(placed);
        }
        tell_gaps();
        for (const SeriesNote& note : series_.notes) {
            const ByteSpan span = item_of(note.member).span;
            hurt({span.offset + span.length, 0}, note.what, note.expected, {});
        }
        return std::move(laid_);
    }

private:
    struct Placed {
        std::size_t member = 0;
        std::size_t at = 0;
        bool trusted = false;   ///< nothing is wrong with it
        bool readable = false;  ///< its payload is there
    };

    const Reading& reading_of(std::size_t member) const { return readings_[series_.members[member]]; }
    const midi::Item& item_of(std::size_t member) const { return input_.findings.items[reading_of(member).item]; }

    std::string name_of(std::size_t member) const {
        return "message \"" + framing_.messages[reading_of(member).pattern].name + '"';
    }

    void hurt(ByteSpan place, std::string what, std::string expected, std::vector<ByteSpan> spans) {
        laid_.hurts.push_back(
            {{BytePlace{input_.file, place.offset, place.length, -1}, std::move(what), std::move(expected), {}},
             std::move(spans),
             false});
    }

    void tell_failures(std::size_t member, const std::vector<ByteSpan>& spans) {
        for (const StepFailure& failure : reading_of(member).failures) {
            hurt({file_offset(item_of(member), failure.at), failure.length}, name_of(member) + ": " + failure.what,
                 failure.expected, spans);
        }
    }

    void find_places() {
        size_ = framing_.image->size;
        const bool is_open = size_ == 0;
        const std::size_t most = is_open ? largest_image : size_;
        const auto unit = static_cast<std::size_t>(std::max<std::int64_t>(framing_.image->unit, 1));
        for (std::size_t m = 0; m < series_.members.size(); ++m) {
            const Reading& reading = reading_of(m);
            const schema::MessagePattern& pattern = framing_.messages[reading.pattern];
            const auto address = named_number(pattern, reading.captures, framing_.image->address);
            if (!address || !find_capture(pattern, "data")) {
                tell_failures(m, {});
                continue;
            }
            const auto number = static_cast<std::size_t>(*address);
            const std::size_t length = reading.payload.size();
            if (number > most / unit || number * unit + length > most) {
                tell_failures(m, {});
                hurt(item_of(m).span, name_of(m) + " reaches beyond the image's end", "at most " + address_text(most),
                     {});
                continue;
            }
            const bool readable = reading.whole && reading.unpacked;
            placed_.push_back({m, number * unit, reading.sound(), readable});
            starts_.insert(number * unit);
            if (is_open && readable) size_ = std::max(size_, number * unit + length);
        }
    }

    void find_usual_length() {
        std::map<std::size_t, std::size_t> counts;
        for (const Placed& placed : placed_) {
            if (placed.readable) ++counts[reading_of(placed.member).payload.size()];
        }
        std::size_t most = 0;
        for (const auto& [length, count] : counts) {
            if (count >= most) usual_ = count > most ? length : 0;
            most = std::max(most, count);
        }
    }

    /// A data byte that became a real-time byte goes unnoticed by a sum where it was zero, and so can lost bytes.
    bool may_lack(const Placed& placed) const {
        return !item_of(placed.member).real_time.empty() || reading_of(placed.member).payload.size() != usual_;
    }

    bool has_gap_behind(const Placed& placed) const {
        const std::size_t end = placed.at + reading_of(placed.member).payload.size();
        // In a sparse image a part may well end where a preset does.
        return end < size_ && cover_[end] == Cover::none && !starts_.contains(end) &&
               is_needed(framing_, end, framing_.image->sparse);
    }

    void lay_sound(const Placed& placed) {
        const Bytes& payload = reading_of(placed.member).payload;
        std::size_t first = payload.size(), last = 0;
        std::set<std::size_t> against;  // parts with other content
        for (std::size_t i = 0; i < payload.size(); ++i) {
            const std::size_t at = placed.at + i;
            if (cover_[at] == Cover::none) {
                laid_.bytes[at] = payload[i];
                cover_[at] = Cover::sound;
                owner_[at] = laid_.parts.size();
                continue;
            }
            first = std::min(first, i);
            last = i;
            if (laid_.bytes[at] != payload[i]) against.insert(owner_[at]);
        }
        laid_.parts.push_back({placed.member, placed.at});
        if (first == payload.size()) return;
        const ByteSpan twice{placed.at + first, last + 1 - first};
        std::vector<ByteSpan> spans;
        if (!against.empty()) spans.push_back(range_of(laid_.parts.back()));
        for (const std::size_t part : against) spans.push_back(range_of(laid_.parts[part]));
        hurt(item_of(placed.member).span,
             name_of(placed.member) + ": " + span_text(twice) + (twice.length == 1 ? " comes" : " come") +
                 " twice, with " + (against.empty() ? "the same" : "different") + " content",
             {}, std::move(spans));
    }

    ByteSpan range_of(const ImagePart& part) const { return {part.at, reading_of(part.message).payload.size()}; }

    /// Only where nothing better is known.
    void lay_doubtful(const Placed& placed) {
        const Bytes& payload = reading_of(placed.member).payload;
        std::vector<ByteSpan> spans;
        for (std::size_t i = 0; i < payload.size(); ++i) {
            const std::size_t at = placed.at + i;
            if (cover_[at] != Cover::none) continue;
            laid_.bytes[at] = payload[i];
            cover_[at] = Cover::doubtful;
            if (!spans.empty() && spans.back().offset + spans.back().length == at) {
                ++spans.back().length;
            } else {
                spans.push_back({at, 1});
            }
        }
        laid_.parts.push_back({placed.member, placed.at});
        const midi::Item& item = item_of(placed.member);
        if (reading_of(placed.member).sound() && !item.real_time.empty()) {
            hurt({item.real_time.front().offset, 1},
                 name_of(placed.member) + ": a real-time byte stands inside, and what belongs behind it is missing",
                 "a data byte", spans);
        } else if (reading_of(placed.member).sound()) {
            hurt(item.span,
                 name_of(placed.member) + ": it is not as long as others, and what belongs behind it is missing", {},
                 spans);
        }
        tell_failures(placed.member, spans);
    }

    /// What was there would have begun at its address.
    void tell_unreadable(const Placed& placed) {
        std::vector<ByteSpan> spans;
        std::size_t end = placed.at;
        while (end < size_ && cover_[end] == Cover::none) ++end;
        if (end > placed.at) spans.push_back({placed.at, end - placed.at});
        tell_failures(placed.member, spans);
    }

    void tell_gaps() {
        for (std::size_t at = 0; at < size_;) {
            std::size_t end = at;
            while (end < size_ && cover_[end] == Cover::none) ++end;
            if (end > at) {
                const ByteSpan gap{at, end - at};
                hurt({offset_before(at), 0}, span_text(gap) + (gap.length == 1 ? " is" : " are") + " missing", {},
                     {gap});
                laid_.hurts.back().only_if_needed = true;
            }
            at = std::max(end, at + 1);
        }
    }

    /// The end of the message whose data ends at that byte of the image; the first message where there is none.
    std::size_t offset_before(std::size_t at) const {
        for (const ImagePart& part : laid_.parts) {
            const ByteSpan span = item_of(part.message).span;
            if (part.at + reading_of(part.message).payload.size() == at) return span.offset + span.length;
        }
        return item_of(0).span.offset;
    }

    const AssemblyInput& input_;
    const schema::Framing& framing_;
    const std::vector<Reading>& readings_;
    const Series& series_;
    std::size_t size_ = 0;
    std::vector<Placed> placed_;
    std::set<std::size_t> starts_;
    std::size_t usual_ = 0;  // length of a part; 0 where none is more usual than another
    std::vector<Cover> cover_;
    std::vector<std::size_t> owner_;  // index into the parts, of bytes that are covered soundly
    Laid laid_;
};

}  // namespace

Laid lay_by_address(const AssemblyInput& input, const Series& series) {
    return Map(input, series).lay();
}

}  // namespace downfit::dump
