#include "study/draft_value.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include "dump/fields.h"

namespace downfit::study {

namespace {

using dump::NamedNode;
using dump::Stored;
using schema::Coding;
using schema::Notation;
using schema::Storage;

constexpr std::size_t few_numbers = 8;
constexpr std::int64_t most_choice = 15;
constexpr std::size_t few_texts = 16;
constexpr std::size_t most_mixed = 256;
constexpr std::size_t longest_label = 64;
constexpr std::int64_t most_exact = std::int64_t{1} << 53;  // ranges are doubles

/// How switches are written: common practice, no source.
constexpr std::array<std::pair<std::string_view, std::string_view>, 7> switch_words{{{"on", "off"},
                                                                                     {"yes", "no"},
                                                                                     {"true", "false"},
                                                                                     {"enabled", "disabled"},
                                                                                     {"active", "inactive"},
                                                                                     {"active", "bypassed"},
                                                                                     {"engaged", "bypassed"}}};

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t first = text.find_first_not_of(blanks);
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(blanks) + 1 - first);
}

std::string lower(std::string_view text) {
    std::string out(text);
    for (char& c : out) {
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    }
    return out;
}

ByteView bytes_of(const std::string& raw) {
    return {reinterpret_cast<const std::uint8_t*>(raw.data()), raw.size()};
}

class ValueDrafter {
public:
    ValueDrafter(Notation notation, const PlaceValues& values) : notation_(notation) {
        for (const NamedNode* value : values) {
            if (is_nothing(notation, *value)) continue;
            values_.push_back(value);
            words_.insert(std::string(trimmed(value->text.value_or(""))));
        }
        drafted_.seen = values_.size();
        drafted_.different = words_.size();
    }

    std::optional<DraftParameter> draft() {
        const bool found = !values_.empty() &&
                           (whole() || real() || switch_of_words() || choice_of_texts() || text() || choice_of_both());
        if (!found) return std::nullopt;
        return std::move(drafted_);
    }

private:
    [[nodiscard]] Storage storage(Coding coding) const {
        Storage storage;
        storage.notation = notation_;
        storage.coding = coding;
        storage.encoding = schema::Encoding::utf8;
        return storage;
    }

    /// What the loader would read, one for each value; empty where it would not read one of them as `kind`.
    [[nodiscard]] std::vector<Stored> all(const Storage& storage, Stored::Kind kind) const {
        std::vector<Stored> read;
        for (const NamedNode* value : values_) {
            read.push_back(dump::read_field(storage, bytes_of(value->raw)));
            if (read.back().kind != kind) return {};
        }
        return read;
    }

    /// "007" is a name of something, no number.
    [[nodiscard]] bool has_leading_zeros() const {
        return std::any_of(words_.begin(), words_.end(), [](const std::string& word) {
            return word.size() > 1 && word[0] == '0' && word[1] >= '0' && word[1] <= '9';
        });
    }

    bool whole() {
        if (has_leading_zeros()) return false;
        std::set<std::int64_t> numbers;
        for (const Stored& stored : all(storage(Coding::twos_complement), Stored::Kind::whole)) {
            if (stored.whole > most_exact || stored.whole < -most_exact) return false;
            numbers.insert(stored.whole);
        }
        if (numbers.empty()) return false;
        drafted_.least = static_cast<double>(*numbers.begin());
        drafted_.most = static_cast<double>(*numbers.rbegin());
        drafted_.different = numbers.size();
        const bool only_words = std::all_of(words_.begin(), words_.end(),
                                            [](const auto& word) { return word == "true" || word == "false"; });
        const bool two = numbers.size() == 2 && *numbers.begin() == 0;
        const std::int64_t most = *numbers.rbegin();
        if (only_words) {
            drafted_.sort = Sort::on_off;
            drafted_.numbers = {0, 1};
        } else if (two && (most == 1 || most == 0x7F || most == 0xFF)) {
            drafted_.sort = Sort::on_off;
            drafted_.numbers = {0, most};
        } else if (*numbers.begin() >= 0 && most <= most_choice && numbers.size() > 1 &&
                   numbers.size() <= few_numbers && values_.size() >= 4 * numbers.size()) {
            drafted_.sort = Sort::choice;
            drafted_.numbers.assign(numbers.begin(), numbers.end());
            drafted_.remark = "or a knob with few steps";
        } else {
            drafted_.sort = Sort::number;
        }
        return true;
    }

    bool real() {
        if (has_leading_zeros()) return false;
        std::set<double> numbers;
        for (const Stored& stored : all(storage(Coding::float64), Stored::Kind::real)) {
            if (!std::isfinite(stored.real)) return false;
            numbers.insert(stored.real);
        }
        if (numbers.empty()) return false;
        drafted_.sort = Sort::real;
        drafted_.least = *numbers.begin();
        drafted_.most = *numbers.rbegin();
        drafted_.different = numbers.size();
        return true;
    }

    /// Takes words that stand for numbers, where the loader reads every value so.
    bool take(Sort sort, std::vector<schema::Word> words) {
        Storage named = storage(Coding::twos_complement);
        named.words = std::make_shared<const std::vector<schema::Word>>(words);
        const std::vector<Stored> read = all(named, Stored::Kind::whole);
        const bool known = !read.empty() && std::all_of(read.begin(), read.end(), [&](const Stored& stored) {
            return std::any_of(words.begin(), words.end(),
                               [&](const schema::Word& word) { return word.number == stored.whole; });
        });
        if (!known) return false;
        drafted_.sort = sort;
        for (const schema::Word& word : words) drafted_.numbers.push_back(word.number);
        if (sort == Sort::on_off) std::sort(drafted_.numbers.begin(), drafted_.numbers.end());
        drafted_.words = std::move(words);
        return true;
    }

    bool switch_of_words() {
        if (words_.size() != 2) return false;
        const std::string &one = *words_.begin(), &other = *words_.rbegin();
        for (const auto& [on, off] : switch_words) {
            if (lower(one) == on && lower(other) == off) return take(Sort::on_off, {{one, 1}, {other, 0}});
            if (lower(one) == off && lower(other) == on) return take(Sort::on_off, {{other, 1}, {one, 0}});
        }
        return false;
    }

    [[nodiscard]] static bool can_be_label(const std::string& word) {
        const bool plain =
            std::none_of(word.begin(), word.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; });
        return !word.empty() && word.size() <= longest_label && plain;
    }

    [[nodiscard]] bool is_quoted(const NamedNode& value) const {
        return notation_ != Notation::json || value.raw.starts_with('"');
    }

    bool choice_of_texts() {
        const bool few = words_.size() > 1 && words_.size() <= few_texts && values_.size() >= 2 * words_.size();
        const bool are_texts = std::all_of(values_.begin(), values_.end(), [&](const NamedNode* value) {
            return is_quoted(*value) && all_words(*value);
        });
        if (!few || !are_texts || !std::all_of(words_.begin(), words_.end(), can_be_label)) return false;
        std::vector<schema::Word> words;
        for (const std::string& word : words_) words.push_back({word, static_cast<std::int64_t>(words.size())});
        return take(Sort::choice, std::move(words));
    }

    /// Whether nothing is lost by trimming it, so that it is read as it stands.
    [[nodiscard]] static bool all_words(const NamedNode& value) {
        return value.text && trimmed(*value.text) == *value.text;
    }

    bool text() {
        std::set<std::string> texts;
        for (const Stored& stored : all(storage(Coding::text), Stored::Kind::text)) texts.insert(stored.text);
        if (texts.empty()) return false;
        drafted_.sort = Sort::text;
        drafted_.different = texts.size();
        return true;
    }

    /// Of JSON: numbers and texts by turns. Every one that was seen is a choice.
    bool choice_of_both() {
        std::set<std::int64_t> numbers;
        std::set<std::string> texts;
        const Storage plain = storage(Coding::twos_complement);
        for (const NamedNode* value : values_) {
            if (is_quoted(*value)) {
                texts.insert(std::string(trimmed(value->text.value_or(""))));
                continue;
            }
            const Stored stored = dump::read_field(plain, bytes_of(value->raw));
            if (stored.kind != Stored::Kind::whole) return false;
            if (stored.whole > most_exact || stored.whole < -most_exact) return false;
            numbers.insert(stored.whole);
        }
        if (numbers.size() + texts.size() > most_mixed || numbers.empty()) return false;
        std::vector<schema::Word> words;
        for (const std::int64_t number : numbers) words.push_back({"number " + std::to_string(number), number});
        std::int64_t next = std::max<std::int64_t>(*numbers.rbegin() + 1, 0);
        for (const std::string& one : texts) {
            if (!can_be_label(one) || one.starts_with("number ")) return false;
            words.push_back({one, next++});
        }
        drafted_.remark = "numbers and texts by turns";
        return take(Sort::choice, std::move(words));
    }

    Notation notation_;
    PlaceValues values_;
    std::set<std::string> words_;  // all texts, blanks around them left out
    DraftParameter drafted_;
};

}  // namespace

bool is_nothing(Notation notation, const NamedNode& node) {
    return !node.text || (notation == Notation::json && node.raw == "null");
}

std::optional<DraftParameter> draft_value(Notation notation, const PlaceValues& values) {
    return ValueDrafter(notation, values).draft();
}

}  // namespace downfit::study
