#include <algorithm>
#include <utility>

#include "dump/image.h"

namespace downfit::dump {

namespace {

/// Lays payloads in a row. Behind something that is missing nothing can be trusted any more, unless the image's size
/// is known and tells how much is missing.
class Row {
public:
    Row(const AssemblyInput& input, const Series& series)
        : input_(input),
          framing_(input.device.framings[input.framing]),
          readings_(input.findings.readings[input.framing]),
          series_(series),
          size_(framing_.image ? framing_.image->size : 0),
          needed_(size_ > 0 ? size_ : needed_size(framing_)) {}

    Laid lay() {
        const std::size_t gap = size_of_gap();
        for (std::size_t m = 0; m < series_.members.size(); ++m) {
            starts_.push_back(laid_.bytes.size());
            const Reading& reading = reading_of(m);
            if (reading.whole && reading.unpacked) {
                lay_payload(m);
            } else {
                spoil_failures(m, gap > 0 ? gap : open_length);
                laid_.bytes.resize(laid_.bytes.size() + gap);
                moved_ = moved_ || gap == 0;
            }
        }
        starts_.push_back(laid_.bytes.size());
        tell_notes();
        const bool wrong_size = laid_.bytes.size() < needed_ || (size_ > 0 && laid_.bytes.size() > size_);
        const bool may_be_short = size_ == 0 && !numbers_parts() && first_stranger();
        if (!moved_ && (wrong_size || may_be_short)) tell_wrong_size();
        return std::move(laid_);
    }

private:
    const Reading& reading_of(std::size_t member) const { return readings_[series_.members[member]]; }
    const midi::Item& item_of(std::size_t member) const { return input_.findings.items[reading_of(member).item]; }

    void hurt(ByteSpan place, std::string what, std::string expected, std::vector<ByteSpan> spans) {
        laid_.hurts.push_back(
            {{BytePlace{input_.file, place.offset, place.length, -1}, std::move(what), std::move(expected), {}},
             std::move(spans),
             false});
    }

    bool holds_data(std::size_t member) const {
        return find_capture(framing_.messages[reading_of(member).pattern], "data").has_value();
    }

    void spoil_failures(std::size_t member, std::size_t length) {
        const Reading& reading = reading_of(member);
        std::vector<ByteSpan> spans;
        if (holds_data(member)) spans.push_back({laid_.bytes.size(), length});
        for (const StepFailure& failure : reading.failures) {
            hurt({file_offset(item_of(member), failure.at), failure.length},
                 "message \"" + framing_.messages[reading.pattern].name + "\": " + failure.what, failure.expected,
                 spans);
        }
    }

    void lay_payload(std::size_t member) {
        const Bytes& payload = reading_of(member).payload;
        spoil_failures(member, payload.size());
        if (!holds_data(member)) return;
        laid_.parts.push_back({member, laid_.bytes.size()});
        laid_.bytes.insert(laid_.bytes.end(), payload.begin(), payload.end());
    }

    /// How many bytes the one message held that cannot be read, where the image's size tells; else 0.
    std::size_t size_of_gap() const {
        if (!framing_.image || framing_.image->size == 0) return 0;
        std::size_t gaps = 0, total = 0;
        for (std::size_t m = 0; m < series_.members.size(); ++m) {
            const bool reads = reading_of(m).whole && reading_of(m).unpacked;
            if (reads) total += reading_of(m).payload.size();
            if (!reads && holds_data(m)) ++gaps;
            if (!item_of(m).real_time.empty()) return 0;
        }
        const bool nothing_else = std::ranges::none_of(
            series_.notes, [](const SeriesNote& note) { return note.holds_data && !note.about_slot; });
        return gaps == 1 && nothing_else && total < framing_.image->size ? framing_.image->size - total : 0;
    }

    void tell_notes() {
        for (const SeriesNote& note : series_.notes) {
            const ByteSpan span = item_of(note.member).span;
            std::vector<ByteSpan> spans;
            if (note.about_slot) {
                spans.push_back({starts_[note.member], starts_[note.member + 1] - starts_[note.member]});
            } else if (note.holds_data) {
                spans.push_back({starts_[note.member + (note.after ? 1 : 0)], open_length});
                moved_ = true;
            }
            hurt({note.after ? span.offset + span.length : span.offset, note.after ? 0 : span.length}, note.what,
                 note.expected, std::move(spans));
        }
    }

    /// The data is not as long as it should be, or may be so: finds out from where on it cannot be trusted.
    void tell_wrong_size() {
        const std::string what = "the data is " + std::to_string(laid_.bytes.size()) + " bytes long";
        const std::string expected = (size_ > 0 ? "" : "at least ") + std::to_string(needed_) + " bytes";
        const std::size_t end =
            item_of(series_.members.size() - 1).span.offset + item_of(series_.members.size() - 1).span.length;
        for (std::size_t m = 0; m < series_.members.size(); ++m) {
            if (item_of(m).real_time.empty()) continue;
            hurt({item_of(m).real_time.front().offset, 1},
                 what + ", and a real-time byte stands inside message \"" +
                     framing_.messages[reading_of(m).pattern].name + '"',
                 expected, {{starts_[m], open_length}});
            return;
        }
        if (const auto stranger = first_stranger()) {
            const ByteSpan span = input_.findings.items[*stranger].span;
            std::size_t at = 0;
            for (std::size_t m = 0; m < series_.members.size() && reading_of(m).item < *stranger; ++m) {
                at = starts_[m + 1];
            }
            hurt(span, what + ", and no message is known here", expected, {{at, open_length}});
            return;
        }
        const std::size_t at = numbers_parts() ? end_of_full_parts() : 0;
        hurt({end, 0}, what + (at == 0 ? ", and nothing tells where it went wrong" : ""), expected,
             {{std::min({at, needed_, laid_.bytes.size()}), open_length}});
    }

    /// The end of the parts that are as long as the longest: a shorter one may have lost something in its midst.
    std::size_t end_of_full_parts() const {
        std::size_t longest = 0;
        for (const ImagePart& part : laid_.parts) longest = std::max(longest, reading_of(part.message).payload.size());
        std::size_t end = 0;
        for (const ImagePart& part : laid_.parts) {
            if (laid_.parts.size() == 1 || reading_of(part.message).payload.size() < longest) break;
            end = part.at + longest;
        }
        return end;
    }

    /// The first item among the messages, or right beside them, that is nothing the framing knows.
    std::optional<std::size_t> first_stranger() const {
        const std::size_t first = reading_of(0).item;
        const std::size_t last = reading_of(series_.members.size() - 1).item;
        std::size_t next = 0;
        for (std::size_t item = first > 0 ? first - 1 : 0; item <= last + 1 && item < input_.findings.items.size();
             ++item) {
            while (next < readings_.size() && readings_[next].item < item) ++next;
            const bool known = next < readings_.size() && readings_[next].item == item;
            if (!known) return item;
        }
        return std::nullopt;
    }

    bool numbers_parts() const {
        return std::ranges::any_of(assembly_of(framing_), [&](const schema::AssemblyPart& part) {
            return find_capture(framing_.messages[part.message], "part").has_value();
        });
    }

    const AssemblyInput& input_;
    const schema::Framing& framing_;
    const std::vector<Reading>& readings_;
    const Series& series_;
    std::size_t size_;                 // of the image where it is known, else 0
    std::size_t needed_;               // at least
    std::vector<std::size_t> starts_;  // of each member's data, and the end
    bool moved_ = false;               // something of unknown length is missing
    Laid laid_;
};

}  // namespace

Laid lay_in_order(const AssemblyInput& input, const Series& series) {
    return Row(input, series).lay();
}

}  // namespace downfit::dump
