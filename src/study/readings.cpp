#include "study/readings.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "base/text.h"
#include "dump/fields.h"
#include "study/storage_text.h"

namespace downfit::study {

namespace {

using schema::Coding;
using schema::Storage;

constexpr double least_float = 1e-5;
constexpr double most_float = 1e7;
constexpr std::size_t longest_text = 64;

bool is_printable(std::uint8_t byte) {
    return byte >= 0x20 && byte < 0x7F;
}

/// A number that somebody may have meant as a real one.
bool is_sensible(double number) {
    const double size = std::fabs(number);
    return number == 0 || (std::isfinite(number) && size >= least_float && size <= most_float);
}

/// Tries codings on windows of bytes.
class Finder {
public:
    Finder(ByteView before, ByteView after, std::size_t first, std::size_t last, const std::vector<bool>& free)
        : before_(before), after_(after), first_(first), last_(last), free_(free) {
        size_ = std::min({before.size(), after.size(), free.size()});
    }

    std::vector<Reading> find() {
        if (last_ >= size_ || first_ > last_) return {};
        if (first_ == last_) one_byte();
        for (const std::size_t width : {std::size_t{2}, std::size_t{3}, std::size_t{4}, std::size_t{8}}) {
            if (last_ - first_ >= width) continue;
            const std::size_t earliest = last_ + 1 >= width ? last_ + 1 - width : 0;
            for (std::size_t at = earliest; at <= first_; ++at) {
                if (at + width <= size_ && is_free(at, width)) window(at, width);
            }
        }
        text();
        std::stable_sort(found_.begin(), found_.end(),
                         [](const Reading& a, const Reading& b) { return a.fit < b.fit; });
        return std::move(found_);
    }

private:
    [[nodiscard]] bool is_free(std::size_t at, std::size_t width) const {
        for (std::size_t i = at; i < at + width; ++i) {
            if (!free_[i] && (i < first_ || i > last_)) return false;
        }
        return true;
    }

    [[nodiscard]] bool moved(std::size_t at) const { return before_[at] != after_[at]; }

    template <class Test>
    [[nodiscard]] bool all(std::size_t at, std::size_t width, const Test& test) const {
        for (std::size_t i = at; i < at + width; ++i) {
            if (!test(before_[i]) || !test(after_[i])) return false;
        }
        return true;
    }

    void add(std::string name, const Storage& storage, Fit fit) {
        const auto number = [&](ByteView bytes) {
            const dump::Stored stored = dump::read_field(storage, bytes);
            if (stored.kind == dump::Stored::Kind::text) return stored.text;
            return stored.kind == dump::Stored::Kind::real ? number_text(stored.real) : std::to_string(stored.whole);
        };
        found_.push_back({std::move(name), storage, number(before_), number(after_), fit});
    }

    void one_byte() {
        const auto changed = static_cast<unsigned>(before_[first_] ^ after_[first_]);
        const unsigned low = static_cast<unsigned>(std::countr_zero(changed));
        const unsigned high = static_cast<unsigned>(std::bit_width(changed)) - 1;
        const bool seven = all(first_, 1, [](unsigned byte) { return byte < 0x80; });
        const bool upper = low >= 4;  // a number would have moved further down as well
        add(seven ? "unsigned, one byte (7 bits)" : "unsigned, one byte", whole_bytes(first_, 1, false),
            upper ? Fit::wider : Fit::close);
        if (high - low < 6) {
            add(low == high ? "one bit, a switch" : "bits " + std::to_string(low) + " to " + std::to_string(high),
                bits_of(first_, low, high - low + 1), upper || low == high ? Fit::close : Fit::wider);
        }
        if (high < 4 && high - low != 3) add("low nibble", bits_of(first_, 0, 4), Fit::wider);
        if (low >= 4 && high - low != 3) add("high nibble", bits_of(first_, 4, 4), Fit::wider);
        if (seven) {
            add("offset, 7 bits (64 is 0)", bits_of(first_, 0, 7, Coding::offset_binary), Fit::wider);
            add("two's complement, 7 bits", bits_of(first_, 0, 7, Coding::twos_complement), Fit::remote);
        } else {
            add("two's complement, one byte", whole_bytes(first_, 1, false, Coding::twos_complement), Fit::close);
            add("offset, one byte (128 is 0)", bits_of(first_, 0, 8, Coding::offset_binary), Fit::wider);
            add("sign and magnitude, one byte", bits_of(first_, 0, 8, Coding::sign_magnitude), Fit::remote);
        }
        decimal(first_, 1);
    }

    /// Two decimal digits a byte.
    void decimal(std::size_t at, std::size_t width) {
        const auto digits = [](unsigned byte) { return (byte & 0x0F) < 10 && (byte >> 4) < 10; };
        if (!all(at, width, digits)) return;
        const auto read = [&](ByteView bytes) {
            std::string text;
            for (std::size_t i = at; i < at + width; ++i) {
                text += static_cast<char>('0' + (bytes[i] >> 4));
                text += static_cast<char>('0' + (bytes[i] & 0x0F));
            }
            text.erase(0, std::min(text.find_first_not_of('0'), text.size() - 1));
            return text;
        };
        found_.push_back({"packed decimal, " + std::to_string(2 * width) + " digits", std::nullopt, read(before_),
                          read(after_), width == last_ - first_ + 1 ? Fit::wider : Fit::remote});
    }

    /// How a whole number whose bytes stand from the most significant one on fits: its upper bytes may be still.
    [[nodiscard]] Fit fit_of(std::size_t at, std::size_t width, bool low_first) const {
        std::size_t still_above = 0;
        for (; still_above < width && !moved(low_first ? at + width - 1 - still_above : at + still_above);)
            ++still_above;
        const bool low_moved = moved(low_first ? at : at + width - 1);
        if (still_above == 0) return low_moved ? Fit::close : Fit::wider;
        // Upper bytes of a wide number are seldom all still, where a narrower one says the same.
        return low_moved && still_above == 1 && width == 2 ? Fit::wider : Fit::remote;
    }

    void window(std::size_t at, std::size_t width) {
        const std::string bits = std::to_string(8 * width) + " bits";
        for (const bool little : {false, true}) {
            const std::string order = little ? ", little-endian" : ", big-endian";
            if (width <= 4) {
                add("unsigned, " + bits + order, whole_bytes(at, width, little), fit_of(at, width, little));
                signed_number(at, width, little, "two's complement, " + bits + order);
            }
            if (width == 4) real(at, 4, little, Coding::float32, "IEEE 754, 32 bits" + order);
            if (width == 8) real(at, 8, little, Coding::float64, "IEEE 754, 64 bits" + order);
            const std::string first = little ? ", low part first" : ", high part first";
            if (width <= 4 && all(at, width, [](unsigned byte) { return byte < 0x80; })) {
                add(std::to_string(7 * width) + " bits in 7-bit bytes" + first, low_bits_of(at, width, 7, little),
                    fit_of(at, width, little));
            }
            if (all(at, width, [](unsigned byte) { return byte < 0x10; })) {
                add(std::to_string(4 * width) + " bits in nibbles" + first, low_bits_of(at, width, 4, little),
                    fit_of(at, width, little));
            }
        }
        if (width <= 4) decimal(at, width);
    }

    void signed_number(std::size_t at, std::size_t width, bool little, std::string name) {
        const std::size_t top = little ? at + width - 1 : at;
        if (((before_[top] | after_[top]) & 0x80U) == 0) return;
        add(std::move(name), whole_bytes(at, width, little, Coding::twos_complement), fit_of(at, width, little));
    }

    void real(std::size_t at, std::size_t width, bool little, Coding coding, std::string name) {
        const Storage storage = whole_bytes(at, width, little, coding);
        const double from = dump::read_field(storage, before_).real;
        const double to = dump::read_field(storage, after_).real;
        if (!is_sensible(from) || !is_sensible(to)) return;
        const std::size_t top = little ? at + width - 1 : at;
        const std::size_t next = little ? top - 1 : top + 1;
        const bool upper = moved(top) || moved(next);
        const bool round = has_few_digits(from) && has_few_digits(to);
        if (!upper && !round) return;
        add(std::move(name), storage, round && upper ? Fit::close : Fit::remote);
    }

    /// The longest printable run around what moved.
    void text() {
        const auto both = [&](std::size_t at) { return is_printable(before_[at]) && is_printable(after_[at]); };
        for (std::size_t at = first_; at <= last_; ++at) {
            if (!both(at)) return;
        }
        std::size_t from = first_, to = last_ + 1;
        while (from > 0 && both(from - 1) && free_[from - 1] && to - from < longest_text) --from;
        while (to < size_ && both(to) && free_[to] && to - from < longest_text) ++to;
        if (to - from < 3) return;
        Storage storage;
        storage.coding = Coding::text;
        storage.text_at = static_cast<std::int64_t>(from);
        storage.text_length = to - from;
        add("text", storage, last_ > first_ ? Fit::close : Fit::wider);
    }

    ByteView before_, after_;
    std::size_t first_, last_, size_ = 0;
    const std::vector<bool>& free_;
    std::vector<Reading> found_;
};

}  // namespace

std::vector<Reading> find_readings(ByteView before, ByteView after, std::size_t first, std::size_t last,
                                   const std::vector<bool>& free) {
    return Finder(before, after, first, last, free).find();
}

}  // namespace downfit::study
