#include "study/draft_bytes.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <set>

#include "dump/fields.h"
#include "study/storage_text.h"

namespace downfit::study {

namespace {

using schema::Coding;
using schema::Storage;

constexpr std::size_t least_text = 5;
constexpr std::size_t enough_rows = 16;  // to believe that bits never vary
constexpr std::size_t few_choices = 8;
constexpr int most_choice_byte = 15;
constexpr std::uint8_t most_upper = 0x3F;  // of the upper byte of a wide number
constexpr double least_real = 1e-4, most_real = 1e6;

bool is_letter(std::uint8_t byte) {
    return (byte >= 'A' && byte <= 'Z') || (byte >= 'a' && byte <= 'z');
}

bool is_text_byte(std::uint8_t byte) {
    return byte == 0 || (byte >= 0x20 && byte < 0x7F);
}

/// One column of all rows that reach it.
struct Column {
    std::array<std::size_t, 256> counts{};
    std::size_t rows = 0, different = 0;
    unsigned first = 0, mask = 0;  // bits that differ
    int least = 255, most = 0;

    void add(std::uint8_t byte) {
        if (rows++ == 0) first = byte;
        if (counts[byte]++ == 0) ++different;
        mask |= byte ^ first;
        least = std::min<int>(least, byte);
        most = std::max<int>(most, byte);
    }
    [[nodiscard]] bool varies() const { return different > 1; }
    [[nodiscard]] std::size_t above(int number) const {
        std::size_t count = 0;
        for (int i = number + 1; i < 256; ++i) count += counts[static_cast<std::size_t>(i)];
        return count;
    }
    [[nodiscard]] bool texty() const {
        std::size_t plain = 0;
        for (std::size_t i = 0; i < counts.size(); ++i) {
            const auto byte = static_cast<std::uint8_t>(i);
            if (counts[i] > 0 && !is_text_byte(byte)) return false;
            if (is_letter(byte) || byte == ' ' || byte == 0) plain += counts[i];
        }
        return rows > 0 && plain * 10 >= rows * 6;
    }
};

class Drafter {
public:
    explicit Drafter(const Rows& rows) : rows_(rows) {
        std::size_t longest = 0;
        for (const ByteView row : rows.rows) longest = std::max(longest, row.size());
        columns_.resize(longest);
        for (const ByteView row : rows.rows) {
            for (std::size_t i = 0; i < row.size(); ++i) columns_[i].add(row[i]);
        }
    }

    std::vector<DraftParameter> draft() {
        for (std::size_t at = 0; at < columns_.size();) {
            std::size_t next = text(at);
            if (next == at) next = real(at);
            if (next == at && varies(at)) next = wide(at);
            if (next == at && varies(at)) next = one_byte(at);
            at = std::max(next, at + 1);
        }
        if (drafted_.size() == 1 && !rows_.whole.empty()) drafted_.front().id = rows_.whole;
        return std::move(drafted_);
    }

    [[nodiscard]] ColumnCount count() const {
        ColumnCount count;
        count.all = columns_.size();
        for (std::size_t i = 0; i < columns_.size(); ++i) count.varying += varies(i) ? std::size_t{1} : std::size_t{0};
        return count;
    }

private:
    [[nodiscard]] bool open(std::size_t at) const {
        return at < columns_.size() && (at >= rows_.closed.size() || !rows_.closed[at]);
    }
    [[nodiscard]] bool varies(std::size_t at) const { return open(at) && columns_[at].varies(); }

    /// Adds a parameter with what all rows hold in it.
    void add(const std::string& name, const Storage& storage, Sort sort, std::string remark = {}) {
        DraftParameter parameter;
        parameter.id = rows_.prefix + name;
        parameter.tag = rows_.tag;
        parameter.storage = storage;
        parameter.sort = sort;
        parameter.remark = std::move(remark);
        std::set<std::string> texts;
        std::set<double> numbers;
        for (const ByteView row : rows_.rows) {
            const dump::Stored stored = dump::read_field(storage, row);
            if (stored.kind == dump::Stored::Kind::none) continue;
            ++parameter.seen;
            if (stored.kind == dump::Stored::Kind::text)
                texts.insert(stored.text);
            else
                numbers.insert(stored.number());
        }
        parameter.different = texts.size() + numbers.size();
        if (!numbers.empty()) {
            parameter.least = *numbers.begin();
            parameter.most = *numbers.rbegin();
        }
        if (sort == Sort::on_off || sort == Sort::choice) {
            for (const double number : numbers) parameter.numbers.push_back(static_cast<std::int64_t>(number));
        }
        drafted_.push_back(std::move(parameter));
    }

    /// A text that begins here; the column behind it, or `at` where none does.
    std::size_t text(std::size_t at) {
        std::size_t end = at;
        while (open(end) && columns_[end].texty()) ++end;
        if (!varies(at)) return at;
        while (end > at && !columns_[end - 1].varies()) --end;
        if (end - at < least_text) return at;
        std::size_t with_words = 0, zeros_inside = 0, zeros = 0;
        std::set<std::vector<std::uint8_t>> texts;
        for (const ByteView row : rows_.rows) {
            std::set<std::uint8_t> letters;
            std::size_t last = at;
            texts.insert({row.begin() + static_cast<std::ptrdiff_t>(std::min(at, row.size())),
                          row.begin() + static_cast<std::ptrdiff_t>(std::min(end, row.size()))});
            for (std::size_t i = at; i < std::min(end, row.size()); ++i) {
                if (is_letter(row[i])) letters.insert(row[i]);
                if (row[i] != 0) last = i + 1;
                if (row[i] == 0) ++zeros;
            }
            for (std::size_t i = at; i < std::min(last, row.size()); ++i) {
                if (row[i] == 0) ++zeros_inside;
            }
            if (letters.size() >= 3) ++with_words;
        }
        const std::size_t all = rows_.rows.size();
        if (zeros_inside > 0 || with_words * 2 < all || texts.size() * 4 < all) return at;
        Storage storage;
        storage.coding = Coding::text;
        storage.text_at = static_cast<std::int64_t>(at);
        storage.text_length = end - at;
        if (zeros > 0) storage.padding = 0;
        add("text-" + std::to_string(at), storage, Sort::text, "its last characters may never have been used");
        return end;
    }

    /// A 32-bit real number with few digits in every row.
    std::size_t real(std::size_t at) {
        std::size_t varying = 0;
        for (std::size_t i = at; i < at + 4; ++i) {
            if (!open(i)) return at;
            varying += columns_[i].varies() ? std::size_t{1} : std::size_t{0};
        }
        if (varying < 2 || (varying == 2 && columns_[at].rows < 4)) return at;
        for (const bool little : {false, true}) {
            const Storage storage = whole_bytes(at, 4, little, Coding::float32);
            if (!looks_real(storage)) continue;
            add("bytes-" + std::to_string(at) + '-' + std::to_string(at + 3), storage, Sort::real);
            return at + 4;
        }
        return at;
    }

    [[nodiscard]] bool looks_real(const Storage& storage) const {
        std::set<double> numbers;
        for (const ByteView row : rows_.rows) {
            const dump::Stored stored = dump::read_field(storage, row);
            if (stored.kind != dump::Stored::Kind::real) return false;
            const double size = std::fabs(stored.real);
            if (!std::isfinite(size) || (size != 0 && (size < least_real || size > most_real))) return false;
            if (!has_few_digits(stored.real)) return false;
            if (size != 0) numbers.insert(stored.real);
        }
        return numbers.size() >= 3;
    }

    /// Two bytes of which one is spread over all that a byte holds and the other over little: a number of 16 bits.
    std::size_t wide(std::size_t at) {
        if (!varies(at + 1) || columns_[at].rows != columns_[at + 1].rows) return at;
        for (const bool little : {false, true}) {
            const Column& upper = columns_[little ? at + 1 : at];
            const Column& lower = columns_[little ? at : at + 1];
            const bool spread = lower.above(0x7F) * 5 >= lower.rows && lower.different > 2 * upper.different &&
                                lower.different > few_choices;
            if (!spread || upper.most > most_upper) continue;
            add("bytes-" + std::to_string(at) + '-' + std::to_string(at + 1), whole_bytes(at, 2, little), Sort::wide,
                "may be two numbers of one byte");
            return at + 2;
        }
        return at;
    }

    std::size_t one_byte(std::size_t at) {
        const Column& column = columns_[at];
        const std::string name = "byte-" + std::to_string(at);
        const bool one_bit = std::has_single_bit(column.mask);
        const bool usual = column.least == 0 && (column.most == 1 || column.most == 127 || column.most == 255);
        if (column.different == 2 && usual) {
            add(name, whole_bytes(at, 1, false), Sort::on_off);
        } else if (column.different == 2 && one_bit) {
            bits(at, static_cast<unsigned>(std::countr_zero(column.mask)), 1);
        } else if (has_gap(column)) {
            for (const auto& [bit, width] : bit_runs(column)) bits(at, bit, width);
        } else if (is_signed(column)) {
            add(name, whole_bytes(at, 1, false, Coding::twos_complement), Sort::number,
                "negative numbers, or a byte of which the middle was not seen");
        } else if (column.most <= most_choice_byte && column.different <= few_choices &&
                   column.rows >= 4 * column.different) {
            add(name, whole_bytes(at, 1, false), Sort::choice, "or a knob with few steps");
        } else {
            add(name, whole_bytes(at, 1, false), Sort::number, column.most < 0x80 ? "7 bits are enough" : "");
        }
        return at + 1;
    }

    /// The runs of bits that differ: lowest bit and width.
    [[nodiscard]] static std::vector<std::pair<unsigned, unsigned>> bit_runs(const Column& column) {
        std::vector<std::pair<unsigned, unsigned>> runs;
        for (unsigned bit = 0; bit < 8; ++bit) {
            unsigned width = 0;
            while (bit + width < 8 && (column.mask >> (bit + width) & 1U) != 0) ++width;
            if (width > 0) runs.emplace_back(bit, width);
            bit += width;
        }
        return runs;
    }

    /// Bits that never differ between bits that do, and so many different numbers (or all that the bits can make
    /// together) that it is no chance.
    [[nodiscard]] static bool has_gap(const Column& column) {
        const auto runs = bit_runs(column);
        if (runs.size() < 2 || column.rows < enough_rows) return false;
        std::size_t together = 1;
        for (const auto& [bit, width] : runs) {
            std::set<unsigned> parts;
            for (unsigned i = 0; i < 256; ++i) {
                if (column.counts[i] > 0) parts.insert(i >> bit & ((1U << width) - 1U));
            }
            together *= parts.size();
        }
        return column.different > few_choices || (column.different == together && together >= 4);
    }

    [[nodiscard]] static bool is_signed(const Column& column) {
        if (column.least >= 0x40 || column.most < 0xC0 || column.different < 3) return false;
        for (std::size_t i = 0x40; i < 0xC0; ++i) {
            if (column.counts[i] > 0) return false;
        }
        return true;
    }

    void bits(std::size_t at, unsigned bit, unsigned width) {
        const std::string name = "byte-" + std::to_string(at) + "-bit-" + std::to_string(bit);
        add(name, bits_of(at, bit, width), width == 1 ? Sort::on_off : Sort::number,
            width == 1 ? "" : "taken apart from the byte's other bits, as some between never differ");
    }

    const Rows& rows_;
    std::vector<Column> columns_;
    std::vector<DraftParameter> drafted_;
};

}  // namespace

std::vector<DraftParameter> draft_bytes(const Rows& rows) {
    return Drafter(rows).draft();
}

ColumnCount count_columns(const Rows& rows) {
    return Drafter(rows).count();
}

}  // namespace downfit::study
