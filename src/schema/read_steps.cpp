#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/read_layout.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

using Packing = UnpackStep::Packing;
using PartKind = PatternPart::Kind;

constexpr std::array<std::string_view, 3> message_check_keys{"check", "over", "in"};
constexpr std::array<std::string_view, 4> body_check_keys{"check", "over", "at", "order"};
constexpr std::array<std::string_view, 3> message_length_keys{"length", "in", "plus"};
constexpr std::array<std::string_view, 5> body_length_keys{"length", "at", "as", "order", "plus"};
constexpr std::array<std::string_view, 4> length_numbers{"uint8", "uint16", "uint24", "uint32"};
constexpr std::array<std::string_view, 8> packings{"seven-in-eight", "nibbles",    "split",   "xor",
                                                   "xor-rolling",    "run-length", "deflate", "encrypted"};
constexpr std::array<std::string_view, 4> seven_orders{"first-high", "first-low", "aux-last", "stream"};
constexpr std::array<std::string_view, 2> nibble_orders{"high-first", "low-first"};
constexpr std::array<std::string_view, 3> wrappers{"raw", "zlib", "gzip"};

static_assert(static_cast<int>(midi::SevenBit::Order::stream) == 3);
static_assert(static_cast<int>(midi::Nibbles::Order::low_first) == 1);
static_assert(static_cast<int>(midi::Deflate::Wrapper::gzip) == 2);

/// The setting of a packing: its key, and its words where it takes one.
struct PackingSetting {
    std::string_view key;
    Names words;
};

PackingSetting setting_of(Packing packing) {
    switch (packing) {
        case Packing::seven_in_eight: return {"order", seven_orders};
        case Packing::nibbles: return {"order", nibble_orders};
        case Packing::split: return {"low-bits", {}};
        case Packing::xor_key: return {"key", {}};
        case Packing::xor_rolling: return {"seed", {}};
        case Packing::run_length: return {"escape", {}};
        case Packing::deflate: return {"wrapper", wrappers};
        case Packing::encrypted: return {};
    }
    return {};
}

std::optional<midi::Check> read_check_name(const Node& node, Problems& problems) {
    const auto check = node.is(Node::Kind::text) ? midi::find_check(node.text) : std::nullopt;
    if (check) return check;
    std::vector<std::string_view> names;
    for (const midi::CheckRow& row : midi::checks) names.push_back(row.name);
    report_found(problems, node, "the name of a check, such as \"sum-7-complement\" or \"crc-32\"",
                 node.is(Node::Kind::text) ? did_you_mean(node.text, names) : "");
    return std::nullopt;
}

class StepReader {
public:
    StepReader(bool message, const std::vector<PatternPart>& parts, Problems& problems)
        : message_(message), parts_(parts), problems_(problems) {
        for (const PatternPart& part : parts) {
            if (!part.name.empty()) captures_.push_back(part.name);
        }
    }

    std::optional<Step> read(const Node& node) {
        if (node.find("check")) return message_ ? message_check(node) : body_check(node);
        if (node.find("unpack")) return unpack(node);
        if (node.find("length")) return message_ ? message_length(node) : body_length(node);
        report(problems_, node.value_place(), name_of(node) + " is not a step",
               "an object with \"check\", \"unpack\" or \"length\"");
        return std::nullopt;
    }

private:
    const PatternPart* read_capture(const Node& node) {
        if (!read_text(node, problems_)) return nullptr;
        const auto at = std::ranges::find(parts_, node.text, &PatternPart::name);
        if (at != parts_.end() && !node.text.empty()) return &*at;
        report(problems_, node.value_place(), "the pattern has no capture " + quoted(node.text),
               captures_.empty() ? "a pattern with captures" : one_of(captures_), did_you_mean(node.text, captures_));
        return nullptr;
    }

    bool read_captures(const Node& node, std::vector<std::string>& names) {
        const auto* items = read_list(node, "captures", problems_);
        if (items && items->empty()) report_found(problems_, node, "at least one capture");
        bool good = items != nullptr;
        for (std::size_t i = 0; items && i < items->size(); ++i) {
            const PatternPart* part = read_capture(*(*items)[i]);
            if (part) names.push_back(part->name);
            good = good && part;
        }
        return good;
    }

    std::optional<Step> message_length(const Node& node) {
        const ObjectReader reader(node, "a length in a message", message_length_keys, problems_);
        LengthStep step;
        const Node* in = reader.need("in");
        const bool good = read_captures(*reader.find("length"), step.of);
        const PatternPart* holder = in ? read_capture(*in) : nullptr;
        step.plus = reader.whole("plus", any_place).value_or(0);
        if (!good || !holder) return std::nullopt;
        step.in = holder->name;
        if (holder->kind == PartKind::capture) return step;
        report(problems_, in->value_place(), quoted(holder->name) + " cannot hold a length",
               "a capture of one byte or a known number of them");
        return std::nullopt;
    }

    /// [from, to] of joined data.
    bool read_region(const Node& node, std::string_view done, std::int64_t& from, std::int64_t& to) {
        if (!node.is(Node::Kind::array) || node.items.size() != 2) {
            report_found(problems_, node, "two places, [from, to]");
            return false;
        }
        const auto first = read_whole(*node.items[0], any_place, problems_);
        const auto last = read_whole(*node.items[1], any_place, problems_);
        if (!first || !last) return false;
        const bool same_side = (*first >= 0 && *last > 0) || (*first < 0 && *last < 0);
        if (same_side && *first >= *last) {
            report(problems_, node.value_place(), "the " + std::string(done) + " region is empty",
                   "[from, to] with from before to");
            return false;
        }
        from = *first;
        to = *last;
        return true;
    }

    std::optional<Step> body_length(const Node& node) {
        const ObjectReader reader(node, "a length of joined data", body_length_keys, problems_);
        LengthStep step;
        const bool has_at = reader.need("at") != nullptr;
        const auto at = reader.whole("at", any_place);
        step.width = reader.word("as", length_numbers).value_or(0) + 1;
        step.little_endian = reader.word("order", endian_words) == std::size_t{1};
        step.plus = reader.whole("plus", any_place).value_or(0);
        if (!read_region(*reader.find("length"), "counted", step.from, step.to) || !has_at || !at) return std::nullopt;
        step.at = *at;
        return step;
    }

    std::optional<Step> message_check(const Node& node) {
        const ObjectReader reader(node, "a check in a message", message_check_keys, problems_);
        CheckStep step;
        const auto check = read_check_name(*reader.find("check"), problems_);
        const Node* over = reader.need("over");
        const Node* in = reader.need("in");
        const bool good = over && read_captures(*over, step.over);
        const PatternPart* holder = in ? read_capture(*in) : nullptr;
        if (!good || !check || !holder) return std::nullopt;
        step.check = *check;
        step.in = holder->name;
        const unsigned width = midi::width(*check);
        if (holder->kind != PartKind::capture || width > 7 * holder->length) {
            const unsigned needed = (width + 6) / 7;
            report(problems_, in->value_place(),
                   quoted(holder->name) + " cannot hold a check of " + std::to_string(width) + " bits",
                   needed == 1 ? "{" + holder->name + "}" : "{" + holder->name + ":" + std::to_string(needed) + "}");
            return std::nullopt;
        }
        if (std::ranges::find(step.over, step.in) != step.over.end()) {
            report(problems_, over->value_place(), "the check covers itself: " + quoted(step.in), "the other captures");
            return std::nullopt;
        }
        return step;
    }

    std::optional<Step> body_check(const Node& node) {
        const ObjectReader reader(node, "a check of joined data", body_check_keys, problems_);
        CheckStep step;
        const auto check = read_check_name(*reader.find("check"), problems_);
        const Node* over = reader.need("over");
        const bool has_at = reader.need("at") != nullptr;
        const auto at = reader.whole("at", any_place);
        const auto order = reader.word("order", endian_words);
        if (!over || !has_at || !at || !check) return std::nullopt;
        if (!read_region(*over, "checked", step.from, step.to)) return std::nullopt;
        step.check = *check;
        step.at = *at;
        step.little_endian = order == std::size_t{1};
        return step;
    }

    std::optional<Step> unpack(const Node& node) {
        const auto word = read_word(*node.find("unpack"), packings, problems_);
        if (!word) return std::nullopt;
        UnpackStep step;
        step.packing = static_cast<Packing>(*word);
        const PackingSetting setting = setting_of(step.packing);
        const std::array<std::string_view, 2> keys{"unpack", setting.key};
        const Names known = Names(keys).first(setting.key.empty() ? 1 : 2);
        const ObjectReader reader(node, "a step that unpacks " + std::string(packings[*word]), known, problems_);
        if (message_ && std::ranges::find(captures_, "data") == captures_.end()) {
            report(problems_, node.value_place(), "there is nothing to unpack", "a pattern with {data...}");
            return std::nullopt;
        }
        if (setting.key.empty()) return step;
        if (!reader.need(setting.key)) return std::nullopt;
        if (!setting.words.empty()) {
            const auto order = reader.word(setting.key, setting.words);
            if (!order) return std::nullopt;
            step.order = static_cast<std::uint8_t>(*order);
        } else if (step.packing == Packing::split) {
            const auto bits = reader.whole(setting.key, {1, 7});
            if (!bits) return std::nullopt;
            step.low_bits = static_cast<unsigned>(*bits);
        } else {
            const auto key = reader.hex(setting.key);
            if (!key) return std::nullopt;
            step.key = *key;
            if (step.packing != Packing::xor_key && key->size() != 1) {
                report_found(problems_, *reader.find(setting.key), "one byte in hex");
                return std::nullopt;
            }
        }
        return step;
    }

    bool message_;
    const std::vector<PatternPart>& parts_;
    Problems& problems_;
    std::vector<std::string_view> captures_;
};

}  // namespace

std::vector<Step> read_steps(const Node& node, bool message, const std::vector<PatternPart>& parts,
                             Problems& problems) {
    std::vector<Step> steps;
    const auto* items = read_list(node, "steps", problems);
    if (!items) return steps;
    StepReader reader(message, parts, problems);
    for (const NodePtr& item : *items) {
        const auto* last = steps.empty() ? nullptr : std::get_if<UnpackStep>(&steps.back());
        if (last && last->packing == Packing::encrypted) {
            report(problems, item->value_place(), name_of(*item) + " stands after \"encrypted\"",
                   "no step inside of what cannot be read");
            break;
        }
        auto step = reader.read(*item);
        if (step) steps.push_back(*std::move(step));
    }
    return steps;
}

}  // namespace downfit::schema
