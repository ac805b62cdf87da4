#include "schema/located_json.h"

#include <charconv>
#include <cmath>
#include <exception>
#include <unordered_map>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

namespace downfit::schema {

namespace {

using Json = nlohmann::json;

std::string pointer_token(const std::string& key) {
    std::string token;
    for (const char c : key) {
        if (c == '~')
            token += "~0";
        else if (c == '/')
            token += "~1";
        else
            token += c;
    }
    return token;
}

std::optional<std::int64_t> as_whole(double number) {
    constexpr double exact = 9007199254740992.0;
    if (std::abs(number) > exact || number != std::trunc(number)) return std::nullopt;
    return static_cast<std::int64_t>(number);
}

/// Receives the parser's events; each but the closing ones belongs to the next token of the scan.
class Builder final : public nlohmann::json_sax<Json> {
public:
    Builder(const std::string& file, const std::string& text, const Scan& scan, Problems& problems)
        : file_(std::make_shared<const std::string>(file)), text_(text), scan_(scan), problems_(problems) {}

    NodePtr document() { return std::move(document_); }

    bool null() override { return add(start(Node::Kind::null)); }
    bool boolean(bool value) override {
        auto node = start(Node::Kind::boolean);
        node->boolean = value;
        return add(std::move(node));
    }
    bool number_integer(number_integer_t value) override { return number(static_cast<double>(value), value); }
    bool number_unsigned(number_unsigned_t value) override {
        const bool fits = value <= static_cast<number_unsigned_t>(INT64_MAX);
        return number(static_cast<double>(value),
                      fits ? std::optional<std::int64_t>(static_cast<std::int64_t>(value)) : std::nullopt);
    }
    bool number_float(number_float_t value, const string_t&) override {
        double exact = value;  // the library's own reading depends on the locale
        const char* begin = text_.data() + scan_.tokens[next_].offset;
        std::from_chars(begin, text_.data() + text_.size(), exact);
        return number(exact, as_whole(exact));
    }
    bool string(string_t& value) override {
        auto node = start(Node::Kind::text);
        node->text = value;
        return add(std::move(node));
    }
    bool binary(binary_t&) override { return false; }
    bool start_object(std::size_t) override { return open(Node::Kind::object); }
    bool start_array(std::size_t) override { return open(Node::Kind::array); }
    bool end_object() override { return close(); }
    bool end_array() override { return close(); }

    bool key(string_t& value) override {
        Frame& frame = open_.back();
        frame.key = value;
        frame.key_spot = scan_.tokens[next_++].spot;
        const auto [known, fresh] = frame.keys.emplace(value, frame.key_spot.line);
        frame.duplicate = !fresh;
        if (!fresh) {
            problems_.push_back({TextPlace{*file_, frame.key_spot.line, frame.key_spot.column,
                                           frame.node->pointer + "/" + pointer_token(value)},
                                 "key \"" + value + "\" stands twice in one object", "each key once",
                                 "the first stands in line " + std::to_string(known->second)});
        }
        return true;
    }

    bool parse_error(std::size_t position, const std::string&, const nlohmann::detail::exception& error) override {
        const std::size_t offset = position == 0 ? 0 : std::min(position, text_.size()) - 1;
        const Spot spot = spot_of(text_, offset);
        std::string what = "a text that is not valid JSON", expected = "UTF-8 without control characters";
        if (error.id == 406) {
            what = "a number too large to be held";
            expected = "a number up to 1.7e308";
        } else if (const std::string message = error.what(); message.find("backslash") != std::string::npos) {
            what = "an unknown escape in a text";
            expected = "\\\", \\\\, \\/, \\b, \\f, \\n, \\r, \\t or \\u and four hex digits";
        } else if (message.find("surrogate") != std::string::npos || message.find("\\u") != std::string::npos) {
            what = "an incomplete \\u escape in a text";
            expected = "\\u and four hex digits, halves of a pair together";
        }
        problems_.push_back({TextPlace{*file_, spot.line, spot.column, {}}, what, expected, {}});
        document_ = nullptr;
        return false;
    }

private:
    struct Frame {
        std::shared_ptr<Node> node;
        std::string key;
        Spot key_spot;
        bool duplicate = false;
        std::unordered_map<std::string, std::size_t> keys;  // with the line of each
    };

    std::shared_ptr<Node> start(Node::Kind kind) {
        auto node = std::make_shared<Node>();
        node->kind = kind;
        node->file = file_;
        node->value_spot = node->key_spot = scan_.tokens[next_++].spot;
        if (open_.empty()) return node;
        const Frame& parent = open_.back();
        if (parent.node->is(Node::Kind::array)) {
            node->item = true;
            node->pointer = parent.node->pointer + "/" + std::to_string(parent.node->items.size());
        } else {
            node->key_spot = parent.key_spot;
            node->pointer = parent.node->pointer + "/" + pointer_token(parent.key);
        }
        return node;
    }

    bool number(double value, std::optional<std::int64_t> whole) {
        auto node = start(Node::Kind::number);
        node->number = value;
        node->whole = whole;
        return add(std::move(node));
    }

    bool add(std::shared_ptr<Node> node) {
        if (open_.empty()) {
            document_ = std::move(node);
            return true;
        }
        Frame& parent = open_.back();
        if (parent.node->is(Node::Kind::array))
            parent.node->items.push_back(std::move(node));
        else if (!parent.duplicate)
            parent.node->members.push_back({parent.key, std::move(node)});
        return true;
    }

    bool open(Node::Kind kind) {
        open_.push_back({start(kind), {}, {}, false, {}});
        return true;
    }

    bool close() {
        auto node = std::move(open_.back().node);
        open_.pop_back();
        return add(std::move(node));
    }

    std::shared_ptr<const std::string> file_;
    const std::string& text_;
    const Scan& scan_;
    Problems& problems_;
    std::size_t next_ = 0;
    std::vector<Frame> open_;
    NodePtr document_;
};

}  // namespace

NodePtr read_json(const std::string& file, const std::string& text, Problems& problems) {
    if (const std::size_t zero = text.find('\0'); zero != std::string::npos) {
        const Spot spot = spot_of(text, zero);
        problems.push_back({TextPlace{file, spot.line, spot.column, {}}, "a zero byte", "text in UTF-8", {}});
        return nullptr;
    }
    const Scan scan = scan_json(text);
    if (scan.fault) {
        const SyntaxFault& fault = *scan.fault;
        problems.push_back(
            {TextPlace{file, fault.spot.line, fault.spot.column, {}}, fault.what, fault.expected, fault.remedy});
        return nullptr;
    }
    try {
        Builder builder(file, text, scan, problems);
        const bool read = Json::sax_parse(text, &builder, Json::input_format_t::json, true, true);
        return read ? builder.document() : nullptr;
    } catch (const std::exception&) {
        problems.push_back({TextPlace{file, 1, 1, {}}, "the file cannot be read as JSON", "JSON", {}});
        return nullptr;
    }
}

}  // namespace downfit::schema
