#include "schema/read_named.h"

#include <algorithm>
#include <array>
#include <utility>

#include <pugixml.hpp>

#include "base/near_miss.h"
#include "schema/read_parameter.h"
#include "schema/reader.h"
#include "schema/words.h"

namespace downfit::schema {

namespace {

constexpr std::array<std::string_view, 17> named_layout_keys{
    "holds",    "as",    "presets", "recognised-by", "slot",  "name",  "stamp",  "volatile",   "body",
    "messages", "image", "preset",  "dump",          "steps", "empty", "filled", "begins-with"};
constexpr std::array<std::string_view, 9> byte_keys{"messages", "preset", "image", "dump",       "steps",
                                                    "empty",    "filled", "body",  "begins-with"};
constexpr std::array<std::string_view, 3> named_slot_keys{"path", "by", "first"};
constexpr std::array<std::string_view, 2> slot_words{"key", "order"};
constexpr std::array<std::string_view, 2> named_stamp_keys{"path", "from"};
constexpr std::array<std::string_view, 2> stamp_froms{"preset", "file"};
constexpr std::array<std::string_view, 3> by_words{"order", "key", "name-before"};
constexpr std::array<std::string_view, 3> named_types{"float32", "float64", "text"};
constexpr std::size_t most_stamp_pieces = 8;

std::string_view notation_name(Notation notation) {
    return notation == Notation::json ? "a JSON Pointer, such as \"/presets/*\"" : "an XPath, such as \"bank/preset\"";
}

/// What is wrong with a path; empty where nothing is.
std::string fault_of(std::string_view path, Notation notation, bool relative) {
    if (notation == Notation::json) {
        if (!is_pointer(path)) return "it does not begin with \"/\"";
        for (std::size_t at = path.find('~'); at != std::string_view::npos; at = path.find('~', at + 1)) {
            if (at + 1 >= path.size() || (path[at + 1] != '0' && path[at + 1] != '1')) return "\"~\" without 0 or 1";
        }
        return {};
    }
    if (path.empty()) return "it is empty";
    if (relative && path.starts_with('/')) return "it begins at the root";
    try {
        const pugi::xpath_query query{std::string(path).c_str()};
        if (!query) return query.result().description();
        if (query.return_type() != pugi::xpath_type_node_set) return "it finds no elements or attributes";
    } catch (const std::exception& error) {
        return error.what();
    }
    return {};
}

class NamedLayoutReader {
public:
    NamedLayoutReader(const Node& node, Notation notation, ReadLayout& layout, Problems& problems)
        : reader_(node, "a layout by name", named_layout_keys, problems),
          notation_(notation),
          layout_(layout),
          named_(layout.framing.named),
          problems_(problems) {}

    void read() {
        if (!reader_.ok()) return;
        layout_.notation = named_.notation = notation_;
        for (const std::string_view key : byte_keys) {
            const Node* node = reader_.find(key);
            if (!node) continue;
            report(problems_, node->key_place(), quoted(key) + " means nothing here",
                   quoted(key) + " only in layouts of bytes");
        }
        if (const Node* presets = reader_.need("presets")) named_.presets = path_of(*presets, false);
        if (const Node* marks = reader_.find("recognised-by")) read_marks(*marks);
        if (const Node* slot = reader_.find("slot")) read_slot(*slot);
        if (const Node* name = reader_.find("name")) known(named_.name = path_of(*name, true));
        if (const Node* stamp = reader_.find("stamp")) read_stamp(*stamp);
        if (const Node* paths = reader_.find("volatile")) read_volatile(*paths);
        if (layout_.framing.holds != Holds::unit_settings) return;
        report(problems_, reader_.find("holds")->value_place(), "unit settings in a layout by name",
               "\"presets\" or {\"asset\": KIND}");
    }

private:
    std::string path_of(const Node& node, bool relative) {
        return read_path(node, notation_, relative, problems_).value_or("");
    }

    void known(const std::string& path) { layout_.other_paths.push_back(path); }

    void read_marks(const Node& node) {
        if (!node.is(Node::Kind::object) || node.members.empty()) {
            report_found(problems_, node, "an object: paths in the file with the text that stands there");
            return;
        }
        for (const Member& member : node.members) {
            const std::string fault = fault_of(member.key, notation_, false);
            if (!fault.empty()) {
                report(problems_, member.value->key_place(), quoted(member.key) + " is not a path: " + fault,
                       std::string(notation_name(notation_)));
            }
            const auto text = read_text(*member.value, problems_);
            if (text && fault.empty()) named_.recognised_by.push_back({member.key, *text});
        }
    }

    void read_slot(const Node& node) {
        if (node.is(Node::Kind::text)) {
            named_.slot.from = NamedSlot::From::path;
            known(named_.slot.path = path_of(node, true));
            return;
        }
        const ObjectReader reader(node, "where the slot stands", named_slot_keys, problems_);
        if (!reader.ok()) return;
        named_.slot.first = reader.whole("first", {0, 1'000'000}).value_or(0);
        const Node* path = reader.find("path");
        const Node* by = reader.find("by");
        if (!path == !by) {
            report(problems_, node.value_place(), path ? "\"by\" beside \"path\"" : "\"path\" is missing",
                   "\"path\", or \"by\": \"key\" or \"order\"");
        } else if (path) {
            named_.slot.from = NamedSlot::From::path;
            known(named_.slot.path = path_of(*path, true));
        } else if (const auto word = reader.word("by", slot_words)) {
            named_.slot.from = *word == 0 ? NamedSlot::From::key : NamedSlot::From::order;
            if (*word == 0 && notation_ == Notation::xml) report_found(problems_, *by, "a \"path\", or \"order\"");
        }
    }

    void read_stamp(const Node& node) {
        const Node* path = &node;
        if (node.is(Node::Kind::object)) {
            const ObjectReader reader(node, "where the stamp stands", named_stamp_keys, problems_);
            path = reader.need("path");
            named_.stamp_of_file = reader.word("from", stamp_froms) == std::size_t{1};
        }
        if (!path) return;
        if (!path->is(Node::Kind::array)) {
            add_stamp(*path);
        } else if (path->items.empty() || path->items.size() > most_stamp_pieces) {
            report_found(problems_, *path, "one path, or a list of up to 8");
        } else {
            for (const NodePtr& item : path->items) add_stamp(*item);
        }
    }

    void add_stamp(const Node& node) {
        named_.stamp.push_back(path_of(node, !named_.stamp_of_file));
        if (!named_.stamp_of_file) known(named_.stamp.back());
    }

    void read_volatile(const Node& node) {
        const auto* items = read_list(node, "paths in the preset", problems_);
        for (std::size_t i = 0; items && i < items->size(); ++i) known(path_of(*(*items)[i], true));
    }

    ObjectReader reader_;
    Notation notation_;
    ReadLayout& layout_;
    NamedFraming& named_;
    Problems& problems_;
};

}  // namespace

bool is_pointer(std::string_view path) {
    return path.empty() || path.starts_with('/');
}

std::optional<std::string> read_path(const Node& node, Notation notation, bool relative, Problems& problems) {
    const auto text = read_text(node, problems);
    if (!text) return std::nullopt;
    const std::string fault = fault_of(*text, notation, relative);
    if (fault.empty()) return text;
    report(problems, node.value_place(), quoted(*text) + " is not a path: " + fault,
           std::string(notation_name(notation)));
    return std::nullopt;
}

void read_named_layout(const Node& node, Notation notation, ReadLayout& layout, Problems& problems) {
    NamedLayoutReader(node, notation, layout, problems).read();
}

PlaceForm form_of(const Node& entry) {
    if (entry.find("at") || entry.find("tag")) return PlaceForm::bytes;
    const Node* path = entry.find("path");
    if (!path || !path->is(Node::Kind::text)) return PlaceForm::none;
    return is_pointer(path->text) ? PlaceForm::json : PlaceForm::xml;
}

NamedPlace read_named_place(const ObjectReader& reader, int count) {
    Problems& problems = reader.problems();
    NamedPlace place;
    for (const std::string_view key : {"at", "stride", "tag", "records"}) {
        const Node* node = reader.find(key);
        if (node) report(problems, node->key_place(), quoted(key) + " beside \"path\"", "one of the two");
    }
    const Node& path = *reader.find("path");
    const bool xml = path.is(Node::Kind::text) && !is_pointer(path.text);
    place.notation = xml ? Notation::xml : Notation::json;
    place.path = read_path(path, place.notation, true, problems).value_or("");
    if (const Node* version = reader.find("version")) {
        place.version_path = read_path(*version, place.notation, true, problems).value_or("");
    }
    const Node* by = reader.find("by");
    if (by && by->is(Node::Kind::text)) {
        const auto word = std::ranges::find(by_words, std::string_view(by->text));
        if (word == by_words.end()) {
            place.by = NamedBy::value;
            place.by_path = read_path(*by, place.notation, true, problems).value_or("");
        } else {
            place.by = static_cast<NamedBy>(word - by_words.begin());
        }
        if (xml && (place.by == NamedBy::key || place.by == NamedBy::name_before)) {
            report_found(problems, *by, "\"order\", or an XPath to what stands in \"keys\", such as \"@name\"");
        }
    } else if (by) {
        report_found(problems, *by, "\"order\", \"key\", \"name-before\" or a path");
    }
    const Node* keys = reader.find("keys");
    if (keys && place.by == NamedBy::order) {
        report(problems, keys->key_place(), "\"keys\" means nothing here", "\"keys\" only with \"by\"");
        return place;
    }
    const auto* items = keys ? read_list(*keys, "a key for each instance", problems) : nullptr;
    for (std::size_t i = 0; items && i < items->size(); ++i) {
        const Node& item = *(*items)[i];
        if (item.whole) {
            place.keys.push_back(std::to_string(*item.whole));
        } else {
            place.keys.push_back(read_text(item, problems).value_or(""));
        }
    }
    if (items && place.keys.size() != static_cast<std::size_t>(count)) {
        report(problems, keys->value_place(), std::to_string(place.keys.size()) + " keys",
               std::to_string(count) + ", one for each instance");
    }
    return place;
}

Storage read_named_storage(const ObjectReader& reader, Kind kind, std::string_view path) {
    Problems& problems = reader.problems();
    Storage storage;
    storage.notation = is_pointer(path) ? Notation::json : Notation::xml;
    storage.encoding = Encoding::utf8;
    for (const std::string_view key : {"at", "order", "bit", "width", "signed", "padding", "tag"}) {
        const Node* node = reader.find(key);
        if (node) report(problems, node->key_place(), quoted(key) + " beside \"path\"", "one of the two");
    }
    const auto type = reader.word("as", named_types);
    const bool text_kind = kind == Kind::text || kind == Kind::opaque;
    const bool names = kind == Kind::choice || kind == Kind::reference || kind == Kind::on_off;
    const bool as_text = type == std::size_t{2};
    storage.coding = kind == Kind::real ? Coding::float64 : Coding::twos_complement;
    storage.may_round = kind == Kind::whole;
    if (type == std::size_t{0}) storage.coding = Coding::float32;
    if (type == std::size_t{1}) storage.coding = Coding::float64;
    if (text_kind || (as_text && names)) storage.coding = Coding::text;
    const Node* as = reader.find("as");
    if (as && as_text && !text_kind && !names) {
        report(problems, as->value_place(), "a number stored as \"text\"",
               "no \"as\": numbers are found in texts, too, or \"float32\" where the unit keeps no more");
    } else if (as && type && !as_text && kind != Kind::real) {
        report(problems, as->value_place(), "only kind \"real\" is stored as " + quoted(as->text),
               "\"text\", or no \"as\"");
    }
    storage.text_length = static_cast<std::size_t>(reader.whole("length", {1, 65536}).value_or(0));
    if (const auto encoding = reader.word("encoding", encoding_words))
        storage.encoding = static_cast<Encoding>(*encoding);
    for (const std::string_view key : {"length", "encoding"}) {
        const Node* node = reader.find(key);
        const bool by_text = kind == Kind::reference && storage.coding == Coding::text;
        if (node && !text_kind && !by_text) {
            report(problems, node->key_place(), quoted(key) + " means nothing here", quoted(key) + " only of texts");
        }
    }
    return storage;
}

}  // namespace downfit::schema
