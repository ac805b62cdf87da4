#include "dump/named_values.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include "dump/document.h"

namespace downfit::dump {

namespace {

using Kind = DocumentNode::Kind;
using Keys = std::map<std::string, std::vector<std::string>>;

/// How attributes are called that tell elements apart: common practice, no source. Others may differ by chance.
constexpr std::array<std::string_view, 8> telling_names{"id", "name", "key", "number", "num", "index", "slot", "type"};

/// The attribute that tells an element of those names apart; where it never stood beside others, that of elements of
/// the same name elsewhere. Empty for none.
std::string key_of(const Keys& keys, const std::string& names) {
    if (const auto own = keys.find(names); own != keys.end()) return own->second.empty() ? "" : own->second.front();
    const std::string name = names.substr(names.rfind('/') == std::string::npos ? 0 : names.rfind('/'));
    for (const auto& [others, attributes] : keys) {
        if (!attributes.empty() && !name.empty() && others.ends_with(name)) return attributes.front();
    }
    return {};
}

/// A document with names for its nodes.
class NodeNamer {
public:
    NodeNamer(const Document& document, schema::Notation notation) : document_(document), notation_(notation) {}

    [[nodiscard]] const DocumentNode& node(int index) const {
        return document_.nodes()[static_cast<std::size_t>(index)];
    }

    /// The names of an element and all around it, without anything that tells it from its neighbours.
    [[nodiscard]] std::string names_of(int index) const {
        const DocumentNode& here = node(index);
        return here.parent < 0 ? std::string() : names_of(here.parent) + '/' + here.name;
    }

    /// Elements of the same name beside each other, the first of each name with all of them.
    [[nodiscard]] std::vector<std::vector<int>> neighbours() const {
        std::vector<std::vector<int>> all;
        for (const DocumentNode& parent : document_.nodes()) {
            std::map<std::string, std::vector<int>> by_name;
            for (const int child : parent.children) {
                if (node(child).kind == Kind::element) by_name[node(child).name].push_back(child);
            }
            for (auto& [name, some] : by_name) {
                if (some.size() > 1) all.push_back(std::move(some));
            }
        }
        return all;
    }

    [[nodiscard]] std::optional<std::string> attribute(int element, const std::string& name) const {
        for (const int child : node(element).children) {
            if (node(child).kind == Kind::attribute && node(child).name == name) return document_.text_of(child);
        }
        return std::nullopt;
    }

    /// Attributes that all of some elements have, and not alone. (The same twice is a value that is stored twice.)
    [[nodiscard]] std::vector<std::string> telling(const std::vector<int>& some) const {
        std::vector<std::string> found;
        for (const int child : node(some.front()).children) {
            if (node(child).kind != Kind::attribute) break;
            if (std::ranges::find(telling_names, node(child).name) == telling_names.end()) continue;
            std::size_t having = 0;
            for (const int element : some) {
                const auto text = attribute(element, node(child).name);
                const bool more = node(element).children.size() > 1 || node(element).has_value;
                if (text && more && text->find('\'') == std::string::npos) ++having;
            }
            if (having == some.size()) found.push_back(node(child).name);
        }
        return found;
    }

    [[nodiscard]] std::string path_of(int index, const Keys& keys) const {
        const DocumentNode& here = node(index);
        if (here.parent < 0 || notation_ == schema::Notation::json) return document_.path_of(index);
        const std::string around = path_of(here.parent, keys);
        const std::string before = around.empty() ? around : around + '/';
        if (here.kind == Kind::attribute) return before + '@' + here.name;
        const std::string key = key_of(keys, names_of(index));
        const auto text = key.empty() ? std::nullopt : attribute(index, key);
        if (text) return before + here.name + "[@" + key + "='" + *text + "']";
        const std::string own = document_.path_of(index);
        return before + own.substr(own.rfind('/') == std::string::npos ? 0 : own.rfind('/') + 1);
    }

private:
    const Document& document_;
    schema::Notation notation_;
};

bool holds_value(const DocumentNode& node) {
    return node.kind == Kind::value || node.kind == Kind::attribute ||
           (node.kind == Kind::element && node.has_value && (node.children.empty() || node.value.length > 0));
}

/// Which nodes are the layout's own, with all that stands in them.
std::vector<bool> aside_in(const Document& document, const std::vector<std::string>& paths) {
    std::vector<bool> aside(document.nodes().size(), false);
    for (const std::string& path : paths) {
        for (const int node : document.find(path, 0)) aside[static_cast<std::size_t>(node)] = true;
    }
    for (std::size_t i = 0; i < aside.size(); ++i) {
        const int parent = document.nodes()[i].parent;
        if (parent >= 0 && aside[static_cast<std::size_t>(parent)]) aside[i] = true;
    }
    return aside;
}

std::optional<Document> read_document(schema::Notation notation, ByteView body) {
    Problems notes;
    Result<Document> document = Document::read(notation, {}, body, notes);
    if (!document) return std::nullopt;
    return std::move(document.value());
}

}  // namespace

NamedValues::NamedValues(const schema::Layout& layout) : notation_(layout.notation), asides_(layout.other_paths) {}

void NamedValues::learn(ByteView body) {
    if (notation_ != schema::Notation::xml) return;
    const auto document = read_document(notation_, body);
    if (!document) return;
    const NodeNamer reading(*document, notation_);
    for (const std::vector<int>& some : reading.neighbours()) {
        const std::vector<std::string> here = reading.telling(some);
        std::vector<std::string>& attributes = keys_.try_emplace(reading.names_of(some.front()), here).first->second;
        std::erase_if(attributes, [&](const std::string& one) { return std::ranges::find(here, one) == here.end(); });
    }
}

std::vector<NamedValue> NamedValues::values_of(ByteView body) const {
    std::vector<NamedValue> values;
    const auto document = read_document(notation_, body);
    if (!document || document->nodes().empty()) return values;
    const NodeNamer reading(*document, notation_);
    const std::vector<bool> aside = aside_in(*document, asides_);
    for (int i = 0; i < static_cast<int>(document->nodes().size()); ++i) {
        const DocumentNode& node = reading.node(i);
        if (!holds_value(node)) continue;
        if (node.kind == Kind::attribute) {
            if (node.parent > 0 && key_of(keys_, reading.names_of(node.parent)) == node.name) continue;
        }
        const ByteView raw = body.subspan(node.value.offset, node.value.length);
        values.push_back({reading.path_of(i, keys_), std::string(raw.begin(), raw.end()), document->text_of(i),
                          node.value, aside[static_cast<std::size_t>(i)]});
    }
    return values;
}

std::vector<NamedNode> NamedValues::nodes_of(ByteView body) const {
    std::vector<NamedNode> nodes;
    const auto document = read_document(notation_, body);
    if (!document) return nodes;
    const NodeNamer reading(*document, notation_);
    const std::vector<bool> aside = aside_in(*document, asides_);
    nodes.reserve(document->nodes().size());
    for (int i = 0; i < static_cast<int>(document->nodes().size()); ++i) {
        const DocumentNode& from = reading.node(i);
        NamedNode node;
        node.kind = static_cast<NamedNode::Kind>(from.kind);
        node.parent = from.parent;
        node.name = from.name;
        if (from.kind == Kind::element && i > 0) node.tells = key_of(keys_, reading.names_of(i));
        node.is_value = holds_value(from);
        if (from.has_value) {
            const ByteView raw = body.subspan(from.value.offset, from.value.length);
            node.raw.assign(raw.begin(), raw.end());
            node.text = document->text_of(i);
        }
        node.aside = aside[static_cast<std::size_t>(i)];
        node.children = from.children;
        nodes.push_back(std::move(node));
    }
    return nodes;
}

}  // namespace downfit::dump
