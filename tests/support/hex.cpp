#include "support/hex.h"

#include <algorithm>
#include <charconv>
#include <cstddef>
#include <stdexcept>

#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {

namespace {

constexpr std::string_view digits = "0123456789ABCDEF";
constexpr std::string_view spaces = " \t\r\n";

/// Reads one description. What a `*` repeats is what the last token added.
class HexReader {
public:
    explicit HexReader(std::string_view text) : text_(text) {}

    Bytes read() {
        for (at_ = text_.find_first_not_of(spaces); at_ < text_.size(); at_ = text_.find_first_not_of(spaces, at_)) {
            if (text_[at_] == '#') {
                at_ = std::min(text_.find('\n', at_), text_.size());
            } else if (text_[at_] == '"') {
                read_quoted();
            } else {
                const std::string_view token = text_.substr(at_, text_.find_first_of(" \t\r\n#\"", at_) - at_);
                token.front() == '*' ? repeat(token) : read_byte(token);
                at_ += token.size();
            }
        }
        return bytes_;
    }

private:
    [[noreturn]] void fail(const std::string& why) const {
        const auto line = 1 + std::count(text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(at_), '\n');
        throw std::invalid_argument("line " + std::to_string(line) + ": " + why);
    }

    void read_quoted() {
        const std::size_t end = text_.find_first_of("\"\n", at_ + 1);
        if (end == std::string_view::npos || text_[end] == '\n') fail("a text is not closed");
        add({text_.begin() + static_cast<std::ptrdiff_t>(at_ + 1), text_.begin() + static_cast<std::ptrdiff_t>(end)});
        at_ = end + 1;
    }

    void read_byte(std::string_view token) {
        std::uint8_t value = 0;
        const auto result = std::from_chars(token.data(), token.data() + token.size(), value, 16);
        if (token.size() != 2 || result.ptr != token.data() + 2) fail("\"" + std::string(token) + "\" is not a byte");
        add({value});
    }

    void repeat(std::string_view token) {
        std::size_t times = 0;
        const auto result = std::from_chars(token.data() + 1, token.data() + token.size(), times);
        if (last_.empty() || times == 0 || result.ptr != token.data() + token.size()) {
            fail("\"" + std::string(token) + "\" repeats nothing, or not a number of times");
        }
        while (--times > 0) bytes_.insert(bytes_.end(), last_.begin(), last_.end());
        last_.clear();
    }

    void add(Bytes bytes) {
        bytes_.insert(bytes_.end(), bytes.begin(), bytes.end());
        last_ = std::move(bytes);
    }

    std::string_view text_;
    std::size_t at_ = 0;
    Bytes bytes_;
    Bytes last_;
};

}  // namespace

Bytes from_hex(std::string_view text) {
    return HexReader(text).read();
}

Bytes read_hex(const std::filesystem::path& path_in_tests) {
    try {
        return from_hex(read_text(in_tests(path_in_tests)));
    } catch (const std::invalid_argument& error) {
        throw std::invalid_argument(path_in_tests.string() + ", " + error.what());
    }
}

Bytes ascii(std::string_view text) {
    return {text.begin(), text.end()};
}

std::string to_hex(ByteView bytes) {
    std::string text;
    for (const std::uint8_t byte : bytes) {
        if (!text.empty()) text += ' ';
        text += digits[byte >> 4];
        text += digits[byte & 0x0F];
    }
    return text;
}

}  // namespace downfit::testing
