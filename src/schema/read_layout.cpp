#include "schema/read_layout.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 8> layout_keys{"holds", "messages", "preset", "steps",
                                                      "stamp", "empty",    "body",   "volatile"};
constexpr std::array<std::string_view, 2> message_keys{"bytes", "steps"};
constexpr std::array<std::string_view, 2> held{"presets", "unit-settings"};
constexpr std::array<std::string_view, 3> stamp_keys{"at", "as", "order"};
constexpr std::array<std::string_view, 4> stamp_numbers{"uint8", "uint16", "uint24", "uint32"};
constexpr std::array<std::string_view, 2> endians{"big", "little"};
constexpr std::array<std::string_view, 1> asset_key{"asset"};
constexpr std::array<std::string_view, 1> size_key{"size"};
constexpr std::array<std::string_view, 2> span_keys{"at", "length"};

bool captures(const MessagePattern& message, std::string_view name) {
    return std::ranges::find(message.parts, name, &PatternPart::name) != message.parts.end();
}

class LayoutReader {
public:
    LayoutReader(Names assets, bool body_needed, Problems& problems)
        : assets_(assets), body_needed_(body_needed), problems_(problems) {}

    ReadLayout read(const std::string& name, const Node& node) {
        ReadLayout layout{name, {}, 0, {}, node.key_place()};
        const ObjectReader reader(node, "a layout", layout_keys, problems_);
        if (!reader.ok()) return layout;
        Framing& framing = layout.framing;
        if (const Node* holds = reader.find("holds")) read_holds(*holds, framing);
        const Node* messages = reader.need("messages");
        if (messages) read_messages(*messages, framing);
        const Node* preset = reader.need("preset");
        if (preset && messages) read_preset(*preset, *messages, framing);
        if (const Node* steps = reader.find("steps")) framing.steps = read_steps(*steps, false, {}, problems_);
        if (const Node* stamp = reader.find("stamp")) read_stamp(*stamp, framing);
        if (const Node* empty = reader.find("empty")) {
            framing.empty = read_body_bytes(*empty, "bytes", "what an empty slot looks like", problems_);
        }
        const bool needed = body_needed_ && framing.holds != Holds::asset;
        const Node* body = needed ? reader.need("body") : reader.find("body");
        if (body) layout.body_size = read_size(*body, framing.holds == Holds::asset ? 0 : 1);
        if (const Node* bytes = reader.find("volatile")) layout.volatile_bytes = read_volatile(*bytes);
        if (layout.body_size > 0) check_places(reader, layout);
        return layout;
    }

private:
    void read_holds(const Node& node, Framing& framing) {
        if (!node.is(Node::Kind::object)) {
            if (node.is(Node::Kind::text) && std::ranges::find(held, std::string_view(node.text)) == held.end()) {
                report_found(problems_, node, "\"presets\", \"unit-settings\" or {\"asset\": KIND}",
                             did_you_mean(node.text, held));
                return;
            }
            const auto word = read_word(node, held, problems_);
            if (word == std::size_t{1}) framing.holds = Holds::unit_settings;
            return;
        }
        const ObjectReader reader(node, "what a layout holds", asset_key, problems_);
        const Node* kind = reader.need("asset");
        if (!kind || !read_text(*kind, problems_)) return;
        framing.holds = Holds::asset;
        framing.asset = kind->text;
        if (std::ranges::find(assets_, std::string_view(kind->text)) != assets_.end()) return;
        report(problems_, kind->value_place(), "there is no asset kind " + quoted(kind->text),
               assets_.empty() ? "a kind described in \"assets\"" : one_of(assets_), did_you_mean(kind->text, assets_));
    }

    void read_messages(const Node& node, Framing& framing) {
        if (!node.is(Node::Kind::object) || node.members.empty()) {
            report_found(problems_, node, "an object: the messages by name");
            return;
        }
        for (const Member& member : node.members) {
            MessagePattern message{member.key, {}, {}};
            const ObjectReader reader(*member.value, "a message", message_keys, problems_);
            const Node* bytes = reader.need("bytes");
            auto parts = bytes ? read_pattern(*bytes, problems_) : std::nullopt;
            if (!is_name(member.key)) {
                report(problems_, member.value->key_place(), quoted(member.key) + " is not a name",
                       "lower-case letters, digits and \"-\"");
            }
            const bool readable = parts.has_value();
            if (parts) message.parts = *std::move(parts);
            const Node* steps = reader.find("steps");
            if (steps && readable) message.steps = read_steps(*steps, true, message.parts, problems_);
            framing.messages.push_back(std::move(message));
        }
    }

    void read_preset(const Node& node, const Node& messages, Framing& framing) {
        const auto* items = read_list(node, "message names", problems_);
        if (!items) return;
        std::vector<std::string_view> names;
        for (const MessagePattern& message : framing.messages) names.push_back(message.name);
        bool whole = true;
        for (const NodePtr& item : *items) {
            const auto text = read_text(*item, problems_);
            std::string_view name = text ? std::string_view(*text) : std::string_view{};
            AssemblyPart part;
            part.repeated = name.ends_with("...");
            if (part.repeated) name.remove_suffix(3);
            const auto at = std::ranges::find(names, name);
            whole = whole && text && at != names.end();
            part.message = static_cast<std::size_t>(at - names.begin());
            if (at != names.end())
                framing.preset.push_back(part);
            else if (text)
                report(problems_, item->value_place(), "there is no message " + quoted(name), one_of(names),
                       did_you_mean(name, names));
        }
        const auto has_data = [&](const AssemblyPart& part) {
            return captures(framing.messages[part.message], "data");
        };
        const auto unreadable = [](const MessagePattern& message) { return message.parts.empty(); };
        if (!whole || !messages.is(Node::Kind::object) || std::ranges::any_of(framing.messages, unreadable)) return;
        if (framing.holds != Holds::asset && std::ranges::none_of(framing.preset, has_data)) {
            report_found(problems_, node, "messages of which one at least has {data...}");
        }
    }

    void read_stamp(const Node& node, Framing& framing) {
        const ObjectReader reader(node, "a stamp in the body", stamp_keys, problems_);
        const Node* at = reader.need("at");
        const auto as = reader.word("as", stamp_numbers);
        const auto order = reader.word("order", endians);
        const auto place = at ? read_whole(*at, {0, largest_body}, problems_) : std::nullopt;
        if (!place) return;
        framing.stamp = BodyNumber{static_cast<std::size_t>(*place), as.value_or(0) + 1, order == std::size_t{1}};
        for (const MessagePattern& message : framing.messages) {
            if (!captures(message, "stamp")) continue;
            report(problems_, node.key_place(), "message " + quoted(message.name) + " captures the stamp already",
                   "the stamp in one place");
        }
    }

    std::size_t read_size(const Node& node, std::int64_t least) {
        const ObjectReader reader(node, "a body", size_key, problems_);
        const Node* size = reader.need("size");
        const auto bytes = size ? read_whole(*size, {least, largest_body}, problems_) : std::nullopt;
        return static_cast<std::size_t>(bytes.value_or(0));
    }

    std::vector<ByteSpan> read_volatile(const Node& node) {
        std::vector<ByteSpan> spans;
        const auto* items = read_list(node, "places", problems_);
        for (std::size_t i = 0; items && i < items->size(); ++i) {
            const ObjectReader reader(*(*items)[i], "volatile bytes", span_keys, problems_);
            const bool whole = reader.need("at") && reader.need("length");
            const auto at = reader.whole("at", {0, largest_body});
            const auto length = reader.whole("length", {1, largest_body});
            if (whole && at && length)
                spans.push_back({static_cast<std::size_t>(*at), static_cast<std::size_t>(*length)});
        }
        return spans;
    }

    void check_places(const ObjectReader& reader, const ReadLayout& layout) {
        const auto check = [&](const Node* node, std::size_t at, std::size_t length) {
            if (at + length <= layout.body_size) return;
            report(problems_, node->value_place(), name_of(*node) + " ends at byte " + std::to_string(at + length - 1),
                   "places below " + std::to_string(layout.body_size) + ", the body's size");
        };
        const Framing& framing = layout.framing;
        if (framing.stamp) check(reader.find("stamp"), framing.stamp->at, framing.stamp->length);
        if (framing.empty) check(reader.find("empty"), framing.empty->at, framing.empty->bytes.size());
        for (const ByteSpan& span : layout.volatile_bytes) check(reader.find("volatile"), span.offset, span.length);
    }

    Names assets_;
    bool body_needed_;
    Problems& problems_;
};

}  // namespace

std::vector<ReadLayout> read_layouts(const Node& node, Names assets, bool body_needed, Problems& problems) {
    std::vector<ReadLayout> layouts;
    if (!node.is(Node::Kind::object)) {
        report_found(problems, node, "an object: the layouts by name");
        return layouts;
    }
    for (const Member& member : node.members) {
        if (!is_name(member.key)) {
            report(problems, member.value->key_place(), quoted(member.key) + " is not a name",
                   "lower-case letters, digits and \"-\"");
        }
        layouts.push_back(LayoutReader(assets, body_needed, problems).read(member.key, *member.value));
    }
    return layouts;
}

std::optional<BodyBytes> read_body_bytes(const Node& node, std::string_view key, std::string_view thing,
                                         Problems& problems) {
    const std::array<std::string_view, 2> keys{"at", key};
    const ObjectReader reader(node, thing, keys, problems);
    const bool whole = reader.need("at") && reader.need(key);
    const auto at = reader.whole("at", {0, largest_body});
    auto bytes = reader.hex(key);
    if (!whole || !at || !bytes) return std::nullopt;
    return BodyBytes{static_cast<std::size_t>(*at), *std::move(bytes)};
}

}  // namespace downfit::schema
