#include "schema/read_layout.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/near_miss.h"
#include "schema/ids.h"
#include "schema/read_named.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 17> layout_keys{
    "holds", "as",    "begins-with", "messages", "preset", "image", "dump",     "presets",      "steps",
    "stamp", "empty", "filled",      "body",     "slot",   "name",  "volatile", "recognised-by"};
constexpr std::array<std::string_view, 3> named_keys{"slot", "name", "recognised-by"};
constexpr std::array<std::string_view, 4> forms{"sysex", "raw", "json", "xml"};
constexpr std::array<std::string_view, 4> sysex_keys{"messages", "preset", "image", "dump"};
constexpr std::array<std::string_view, 2> message_keys{"bytes", "steps"};
constexpr std::array<std::string_view, 2> held{"presets", "unit-settings"};
constexpr std::array<std::string_view, 3> body_stamp_keys{"at", "as", "order"};
constexpr std::array<std::string_view, 4> stamp_numbers{"uint8", "uint16", "uint24", "uint32"};
constexpr std::array<std::string_view, 1> asset_key{"asset"};
constexpr std::array<std::string_view, 2> body_keys{"size", "records"};
constexpr std::array<std::string_view, 2> span_keys{"at", "length"};
constexpr std::string_view all_presets = "...";

/// Whether steps leave as many bytes as they find.
bool keep_size(const std::vector<Step>& steps) {
    const auto keeps = [](const Step& step) {
        const auto* unpack = std::get_if<UnpackStep>(&step);
        return !unpack || unpack->packing == UnpackStep::Packing::xor_key ||
               unpack->packing == UnpackStep::Packing::xor_rolling;
    };
    return std::ranges::all_of(steps, keeps);
}

class LayoutReader {
public:
    LayoutReader(Names assets, bool body_needed, Problems& problems)
        : assets_(assets), body_needed_(body_needed), problems_(problems) {}

    ReadLayout read(const std::string& name, const Node& node) {
        ReadLayout layout{name, {}, 0, std::nullopt, {}, node.key_place(), Notation::bytes, {}};
        const Notation notation = notation_of(node);
        if (notation != Notation::bytes) {
            if (const Node* holds = node.find("holds")) read_holds(*holds, layout.framing);
            read_named_layout(node, notation, layout, problems_);
            return layout;
        }
        const ObjectReader reader(node, "a layout", layout_keys, problems_);
        if (!reader.ok()) return layout;
        Framing& framing = layout.framing;
        if (const Node* holds = reader.find("holds")) read_holds(*holds, framing);
        const auto form = reader.word("as", forms);
        if (!form && reader.has("as")) return layout;
        for (const std::string_view key : named_keys) {
            misplaced(reader, key, quoted(key) + " only in layouts by name: \"as\": \"json\" or \"xml\"");
        }
        framing.raw = form == std::size_t{1};
        if (framing.raw)
            read_raw(reader, framing);
        else
            read_sysex(reader, framing);
        if (const Node* steps = reader.find("steps")) framing.steps = read_steps(*steps, false, {}, problems_);
        if (const Node* stamp = reader.find("stamp")) read_stamp(*stamp, framing);
        if (const Node* presets = reader.find("presets")) {
            const std::size_t size = framing.image && keep_size(framing.steps) ? framing.image->size : 0;
            framing.presets = read_preset_runs(*presets, size, problems_);
        }
        if (const Node* empty = reader.find("empty")) read_empty(*empty, framing);
        if (const Node* filled = reader.find("filled")) {
            framing.filled = read_body_bytes(*filled, "bytes", "what a written slot looks like", problems_);
        }
        const bool needed = body_needed_ && framing.holds != Holds::asset;
        const Node* body = needed ? reader.need("body") : reader.find("body");
        if (body) read_body(*body, layout);
        if (const Node* bytes = reader.find("volatile")) layout.volatile_bytes = read_volatile(*bytes);
        if (layout.body_size > 0) check_places(reader, layout);
        return layout;
    }

private:
    static Notation notation_of(const Node& node) {
        const Node* as = node.find("as");
        if (!as || !as->is(Node::Kind::text)) return Notation::bytes;
        return as->text == "json" ? Notation::json : as->text == "xml" ? Notation::xml : Notation::bytes;
    }

    void misplaced(const ObjectReader& reader, std::string_view key, std::string expected) {
        const Node* node = reader.find(key);
        if (node) report(problems_, node->key_place(), quoted(key) + " means nothing here", std::move(expected));
    }

    void read_raw(const ObjectReader& reader, Framing& framing) {
        for (const std::string_view key : sysex_keys) {
            misplaced(reader, key, quoted(key) + " only in layouts of messages: \"as\": \"sysex\"");
        }
        if (auto bytes = reader.hex("begins-with")) framing.begins_with = *std::move(bytes);
    }

    void read_sysex(const ObjectReader& reader, Framing& framing) {
        misplaced(reader, "begins-with", "\"begins-with\" only with \"as\": \"raw\"");
        const Node* messages = reader.need("messages");
        if (messages) read_messages(*messages, framing);
        const Node* preset = reader.find("preset");
        const Node* image = reader.find("image");
        if (!preset && !image) {
            report(problems_, reader.node().key_place(), "\"preset\" is missing",
                   "a layout with \"preset\" or \"image\"");
        } else if (preset && image) {
            report(problems_, image->key_place(), "\"image\" beside \"preset\"", "one of the two",
                   "null takes away what is inherited");
        } else if (messages && preset) {
            ReadParts parts = read_parts(*preset, framing.messages, problems_);
            if (parts.whole) check_data(*preset, parts.parts, framing);
            framing.preset = std::move(parts.parts);
        } else if (messages) {
            framing.image = read_image(*image, framing.messages, problems_);
            if (framing.image) check_data(*image->find("of"), framing.image->of, framing);
        }
        if (const Node* dump = reader.find("dump"); dump && messages) read_dump(*dump, framing);
        if (messages) check_announcements(*messages, framing);
    }

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

    void check_data(const Node& node, const std::vector<AssemblyPart>& parts, const Framing& framing) {
        const auto has_data = [&](const AssemblyPart& part) {
            return captures(framing.messages[part.message], "data");
        };
        const auto unreadable = [](const MessagePattern& message) { return message.parts.empty(); };
        if (framing.holds == Holds::asset || std::ranges::any_of(framing.messages, unreadable)) return;
        if (std::ranges::none_of(parts, has_data)) {
            report_found(problems_, node, "messages of which one at least has {data...}");
        }
    }

    void read_dump(const Node& node, Framing& framing) {
        ReadParts read = read_parts(node, framing.messages, problems_, true);
        if (!read.whole) return;
        const std::vector<AssemblyPart>& others = framing.image ? framing.image->of : framing.preset;
        const std::size_t before = read.presets_at.value_or(read.parts.size());
        for (std::size_t i = 0; i < read.parts.size(); ++i) {
            const AssemblyPart& part = read.parts[i];
            const Node& item = *node.items[i < before ? i : i + 1];
            (i < before ? framing.dump : framing.end).push_back(part);
            const bool shared = std::ranges::find(others, part.message, &AssemblyPart::message) != others.end();
            if (!part.repeated && !shared) continue;
            report_found(problems_, item,
                         part.repeated ? "a message that stands once" : "a message that is no part of a preset");
        }
    }

    /// A number of presets that nobody would compare is a mistake.
    void check_announcements(const Node& messages, const Framing& framing) {
        for (std::size_t m = 0; m < framing.messages.size(); ++m) {
            if (!captures(framing.messages[m], "presets")) continue;
            if (std::ranges::find(framing.dump, m, &AssemblyPart::message) != framing.dump.end()) continue;
            const Node* message = messages.find(framing.messages[m].name);
            report(problems_, message ? message->key_place() : messages.key_place(),
                   "message " + quoted(framing.messages[m].name) +
                       " captures how many presets follow, but does not stand before them",
                   "its name in \"dump\", before \"...\"");
        }
    }

    void read_empty(const Node& node, Framing& framing) {
        constexpr std::string_view thing = "what an empty slot looks like";
        if (node.is(Node::Kind::array) && node.items.empty()) report_found(problems_, node, "one byte test or more");
        const std::vector<NodePtr>& items = node.items;
        for (std::size_t i = 0; node.is(Node::Kind::array) && i < items.size(); ++i) {
            if (auto bytes = read_body_bytes(*items[i], "bytes", thing, problems_))
                framing.empty.push_back(*std::move(bytes));
        }
        if (node.is(Node::Kind::array)) return;
        if (auto bytes = read_body_bytes(node, "bytes", thing, problems_)) framing.empty.push_back(*std::move(bytes));
    }

    void read_stamp(const Node& node, Framing& framing) {
        const ObjectReader reader(node, "a stamp in the body", body_stamp_keys, problems_);
        const Node* at = reader.need("at");
        const auto as = reader.word("as", stamp_numbers);
        const auto order = reader.word("order", endian_words);
        const auto place = at ? read_whole(*at, {0, largest_body}, problems_) : std::nullopt;
        if (!place) return;
        framing.stamp = BodyNumber{static_cast<std::size_t>(*place), as.value_or(0) + 1, order == std::size_t{1}};
        for (const MessagePattern& message : framing.messages) {
            if (!captures(message, "stamp")) continue;
            report(problems_, node.key_place(), "message " + quoted(message.name) + " captures the stamp already",
                   "the stamp in one place");
        }
    }

    void read_body(const Node& node, ReadLayout& layout) {
        const ObjectReader reader(node, "a body", body_keys, problems_);
        if (const Node* records = reader.find("records")) layout.records = read_records(*records, problems_);
        const Node* size = reader.has("records") ? reader.find("size") : reader.need("size");
        const std::int64_t least = layout.framing.holds == Holds::asset ? 0 : 1;
        const auto bytes = size ? read_whole(*size, {least, largest_body}, problems_) : std::nullopt;
        layout.body_size = static_cast<std::size_t>(bytes.value_or(0));
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
        if (framing.filled) check(reader.find("filled"), framing.filled->at, framing.filled->bytes.size());
        const Node* empty = reader.find("empty");
        for (std::size_t i = 0; i < framing.empty.size(); ++i) {
            const bool in_list = empty->is(Node::Kind::array) && empty->items.size() == framing.empty.size();
            const BodyBytes& bytes = framing.empty[i];
            check(in_list ? empty->items[i].get() : empty, bytes.at, bytes.bytes.size());
        }
        for (const ByteSpan& span : layout.volatile_bytes) check(reader.find("volatile"), span.offset, span.length);
        check_pieces(reader, layout);
    }

    /// A release whose bodies grow must say where in the image the new bytes lie.
    void check_pieces(const ObjectReader& reader, const ReadLayout& layout) {
        for (const PresetRun& run : layout.framing.presets) {
            std::size_t bytes = 0;
            for (const Piece& piece : run.pieces) bytes += piece.length;
            if (bytes == layout.body_size || layout.records) continue;
            report(problems_, reader.find("presets")->value_place(),
                   "the pieces of a preset have " + std::to_string(bytes) + " bytes together",
                   std::to_string(layout.body_size) + ", the body's size");
            return;
        }
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

bool captures(const MessagePattern& message, std::string_view name) {
    return std::ranges::find(message.parts, name, &PatternPart::name) != message.parts.end();
}

ReadParts read_parts(const Node& node, const std::vector<MessagePattern>& messages, Problems& problems,
                     bool with_presets) {
    ReadParts read;
    const auto* items = read_list(node, "message names", problems);
    read.whole = items != nullptr;
    std::vector<std::string_view> names;
    for (const MessagePattern& message : messages) names.push_back(message.name);
    for (std::size_t i = 0; items && i < items->size(); ++i) {
        const Node& item = *(*items)[i];
        const auto text = read_text(item, problems);
        std::string_view name = text ? std::string_view(*text) : std::string_view{};
        if (with_presets && name == all_presets) {
            if (read.presets_at) report(problems, item.value_place(), "\"...\" stands twice", "the presets once");
            read.presets_at = read.parts.size();
            continue;
        }
        AssemblyPart part;
        part.repeated = name.ends_with("...");
        if (part.repeated) name.remove_suffix(3);
        const auto at = std::ranges::find(names, name);
        part.message = static_cast<std::size_t>(at - names.begin());
        const bool known = text && at != names.end();
        read.whole = read.whole && known;
        if (known)
            read.parts.push_back(part);
        else if (text)
            report(problems, item.value_place(), "there is no message " + quoted(name), one_of(names),
                   did_you_mean(name, names));
    }
    return read;
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
