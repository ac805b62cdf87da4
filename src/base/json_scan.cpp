#include "base/json_scan.h"

#include <algorithm>
#include <charconv>
#include <optional>
#include <utility>

#include "base/text.h"

namespace downfit {

namespace {

bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

bool is_word_part(char c) {
    return is_digit(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '-' || c == '+' || c == '.' ||
           c == '_' || static_cast<unsigned char>(c) >= 0x80;
}

/// Passes over one or more digits; false if there is none.
bool pass_digits(std::string_view word, std::size_t& at) {
    const std::size_t start = at;
    while (at < word.size() && is_digit(word[at])) ++at;
    return at > start;
}

/// Whether a word is a number as RFC 8259 writes it.
bool is_number(std::string_view word) {
    std::size_t at = word.starts_with('-') ? 1 : 0;
    const std::size_t first = at;
    if (!pass_digits(word, at) || (word[first] == '0' && at > first + 1)) return false;
    if (at < word.size() && word[at] == '.' && !pass_digits(word, ++at)) return false;
    if (at < word.size() && (word[at] == 'e' || word[at] == 'E')) {
        ++at;
        if (at < word.size() && (word[at] == '+' || word[at] == '-')) ++at;
        if (!pass_digits(word, at)) return false;
    }
    return at == word.size();
}

/// The number that 0x10 was meant to be.
std::optional<std::uint64_t> hexadecimal(std::string_view word) {
    constexpr int sixteen = 16;
    if (!word.starts_with("0x") && !word.starts_with("0X")) return std::nullopt;
    std::uint64_t number = 0;
    const char* end = word.data() + word.size();
    const auto read = std::from_chars(word.data() + 2, end, number, sixteen);
    return read.ec == std::errc() && read.ptr == end ? std::optional(number) : std::nullopt;
}

/// What the grammar allows next.
enum class Next { value, value_or_end, key, key_or_end, colon, comma_or_end, nothing };

std::string expectation(Next next, bool in_object) {
    switch (next) {
        case Next::value: return "a value: a text in quotes, a number, true, false, null, a list or an object";
        case Next::value_or_end: return "a value or \"]\"";
        case Next::key: return "a key in quotes";
        case Next::key_or_end: return "a key in quotes or \"}\"";
        case Next::colon: return "\":\" after the key";
        case Next::comma_or_end: return in_object ? "\",\" or \"}\"" : "\",\" or \"]\"";
        case Next::nothing: return "the end of the file";
    }
    return {};
}

class Scanner {
public:
    Scanner(std::string_view text, const ScanLimits& limits) : text_(text), limits_(limits) {
        if (text_.starts_with(byte_order_mark)) at_ = line_start_ = byte_order_mark.size();
    }

    Scan run() {
        while (!scan_.fault) {
            pass_blanks();
            if (scan_.fault) break;
            if (at_ == text_.size()) {
                if (next_ != Next::nothing) ended();
                break;
            }
            step();
        }
        return std::move(scan_);
    }

private:
    Spot here() const { return {static_cast<std::uint32_t>(line_), static_cast<std::uint32_t>(at_ - line_start_ + 1)}; }
    bool in_object() const { return !open_.empty() && open_.back().bracket == '{'; }

    void fail(Spot spot, std::string what, std::string expected, std::string remedy = {}) {
        scan_.fault = SyntaxFault{spot, std::move(what), std::move(expected), std::move(remedy)};
    }

    void ended() {
        std::string remedy;
        if (!open_.empty()) {
            remedy = std::string("the \"") + open_.back().bracket + "\" in line " + std::to_string(open_.back().line) +
                     " is still open";
        }
        fail(here(), "the file ends too early", expectation(next_, in_object()), std::move(remedy));
    }

    void unexpected(Spot spot, const std::string& thing) {
        std::string remedy;
        if (next_ == Next::comma_or_end) remedy = "is a comma missing before it?";
        if (after_comma_ && (thing == "\"}\"" || thing == "\"]\"")) remedy = "take the comma before it away";
        fail(spot, "unexpected " + thing, expectation(next_, in_object()), std::move(remedy));
    }

    void pass_blanks() {
        while (at_ < text_.size()) {
            const char c = text_[at_];
            if (c == '\n') {
                line_start_ = ++at_;
                ++line_;
            } else if (c == ' ' || c == '\t' || c == '\r') {
                ++at_;
            } else if (c == '/') {
                if (!pass_comment()) return;
            } else {
                return;
            }
        }
    }

    bool pass_comment() {
        const Spot start = here();
        const char kind = at_ + 1 < text_.size() ? text_[at_ + 1] : '\0';
        if (kind == '/') {
            at_ = std::min(text_.find_first_of("\r\n", at_), text_.size());
            return true;
        }
        if (kind != '*') {
            fail(start, "unexpected \"/\"", "a comment: // or /* */");
            return false;
        }
        const std::size_t end = text_.find("*/", at_ + 2);
        if (end == std::string_view::npos) {
            fail(start, "a comment without an end", "\"*/\"");
            return false;
        }
        for (; at_ < end + 2; ++at_) {
            if (text_[at_] != '\n') continue;
            line_start_ = at_ + 1;
            ++line_;
        }
        return true;
    }

    void step() {
        const char c = text_[at_];
        const Spot start = here();
        if (c == '{' || c == '[') return open(c);
        if (c == '}' || c == ']') return close(c);
        if (c == '"') return quoted();
        if (c == ',' || c == ':') return separator(c);
        if (is_word_part(c)) return word();
        fail(start,
             std::string("unexpected ") +
                 (static_cast<unsigned char>(c) < 0x20 ? "control character" : std::string{'"', c, '"'}),
             expectation(next_, in_object()), c == '\'' ? "texts stand in double quotes" : "");
    }

    bool value_allowed() const { return next_ == Next::value || next_ == Next::value_or_end; }

    void add_token(std::size_t end, bool key = false) {
        scan_.tokens.push_back({at_, here(), end, open_.empty() ? -1 : open_.back().token, key});
        if (scan_.tokens.size() > limits_.tokens)
            fail(here(), "too many values", "at most " + std::to_string(limits_.tokens) + " keys and values in a file");
    }

    void value_done() {
        next_ = open_.empty() ? Next::nothing : Next::comma_or_end;
        after_comma_ = false;
    }

    void open(char c) {
        if (!value_allowed()) return unexpected(here(), std::string{'"', c, '"'});
        if (open_.size() == limits_.depth)
            return fail(here(), "too many brackets inside each other",
                        "at most " + std::to_string(limits_.depth) + " levels");
        add_token(at_ + 1);
        open_.push_back({c, line_, static_cast<int>(scan_.tokens.size()) - 1});
        next_ = c == '{' ? Next::key_or_end : Next::value_or_end;
        after_comma_ = false;
        ++at_;
    }

    void close(char c) {
        const bool trails = after_comma_ && limits_.trailing_commas && (next_ == Next::key || next_ == Next::value);
        const bool ends =
            trails || next_ == Next::comma_or_end || next_ == Next::key_or_end || next_ == Next::value_or_end;
        if (!ends || (c == '}') != in_object()) return unexpected(here(), std::string{'"', c, '"'});
        if (trails) scan_.trailing_commas.push_back(comma_);
        ++at_;
        scan_.tokens[static_cast<std::size_t>(open_.back().token)].end = at_;
        open_.pop_back();
        value_done();
    }

    void quoted() {
        const bool key = next_ == Next::key || next_ == Next::key_or_end;
        const Spot start = here();
        std::size_t end = at_ + 1;
        while (end < text_.size() && text_[end] != '"' && text_[end] != '\n') end += text_[end] == '\\' ? 2u : 1u;
        if (end >= text_.size() || text_[end] == '\n') {
            return fail(start, "a text without its closing quote", "a \" before the end of the line");
        }
        if (!key && !value_allowed()) {
            return unexpected(start, "text \"" + beginning_of(text_.substr(at_ + 1, end - at_ - 1)) + '"');
        }
        add_token(end + 1, key);
        at_ = end + 1;
        if (key)
            next_ = Next::colon;
        else
            value_done();
    }

    void separator(char c) {
        const bool fits = c == ':' ? next_ == Next::colon : next_ == Next::comma_or_end;
        if (!fits) return unexpected(here(), std::string{'"', c, '"'});
        if (c == ',') comma_ = here();
        ++at_;
        after_comma_ = c == ',';
        next_ = c == ':' || !in_object() ? Next::value : Next::key;
    }

    void word() {
        const Spot start = here();
        std::size_t end = at_;
        while (end < text_.size() && is_word_part(text_[end])) ++end;
        const std::string word(text_.substr(at_, end - at_));
        if (!value_allowed()) return unexpected(start, "\"" + beginning_of(word) + "\"");
        const bool numeric = is_digit(word[0]) || word[0] == '-' || word[0] == '+' || word[0] == '.';
        if (const auto number = hexadecimal(word)) {
            return fail(start, "\"" + beginning_of(word) + "\" is not a number in JSON", "a decimal number",
                        "JSON numbers are decimal: write " + std::to_string(*number));
        }
        if (numeric && !is_number(word)) {
            return fail(start, "\"" + beginning_of(word) + "\" is not a number in JSON",
                        "a number like 5, -0.25 or 1e3", "no leading zero or plus sign, no point at either end");
        }
        if (!numeric && word != "true" && word != "false" && word != "null") {
            return fail(start, "unexpected \"" + beginning_of(word) + "\"", expectation(next_, in_object()),
                        "texts stand in double quotes");
        }
        add_token(end);
        at_ = end;
        value_done();
    }

    struct Bracket {
        char bracket;
        std::size_t line;
        int token;
    };

    std::string_view text_;
    const ScanLimits& limits_;
    std::size_t at_ = 0;
    std::size_t line_ = 1;
    std::size_t line_start_ = 0;
    std::vector<Bracket> open_;
    Next next_ = Next::value;
    bool after_comma_ = false;
    Spot comma_;  // the last one
    Scan scan_;
};

}  // namespace

Scan scan_json(std::string_view text, const ScanLimits& limits) {
    return Scanner(text, limits).run();
}

Spot spot_of(std::string_view text, std::size_t offset) {
    const std::string_view before = text.substr(0, offset);
    const std::size_t lines = static_cast<std::size_t>(std::ranges::count(before, '\n'));
    const std::size_t last = before.rfind('\n');
    std::size_t start = last == std::string_view::npos ? 0 : last + 1;
    if (start == 0 && text.starts_with(byte_order_mark)) start = std::min(byte_order_mark.size(), before.size());
    return {static_cast<std::uint32_t>(lines + 1), static_cast<std::uint32_t>(before.size() - start + 1)};
}

}  // namespace downfit
