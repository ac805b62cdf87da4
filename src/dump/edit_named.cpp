// Adding what a body that is JSON or XML does not hold yet.
#include <algorithm>

#include <nlohmann/json.hpp>

#include "dump/document.h"
#include "dump/edit.h"
#include "dump/text_values.h"

namespace downfit::dump {

namespace {

/// A path cut at its last step.
struct CutPath {
    std::string before, last;
};

CutPath cut_path(const std::string& path, char at) {
    const std::size_t slash = path.rfind(at);
    if (slash == std::string::npos) return {{}, path};
    return {path.substr(0, slash), path.substr(slash + 1)};
}

std::string unescaped_step(std::string step) {
    for (std::size_t at = step.find('~'); at != std::string::npos && at + 1 < step.size(); at = step.find('~', at + 1))
        step.replace(at, 2, step[at + 1] == '1' ? "/" : "~");
    return step;
}

bool is_plain_name(const std::string& text) {
    return !text.empty() && text.find_first_of("[]()*@:.|<>'\"=/ ") == std::string::npos;
}

/// What is to be put into a document, and where.
struct Insertion {
    std::size_t at = 0;
    std::string text;
};

/// A new member behind the last one of an object.
std::optional<Insertion> member(const Document& document, int object, const std::string& key,
                                const std::string& value) {
    const DocumentNode& node = document.nodes()[static_cast<std::size_t>(object)];
    if (node.kind != DocumentNode::Kind::object || key == "*") return std::nullopt;
    const std::string text = nlohmann::json(key).dump() + ": " + value;
    if (node.children.empty()) return Insertion{node.outer.offset + 1, text};
    const DocumentNode& last = document.nodes()[static_cast<std::size_t>(node.children.back())];
    return Insertion{last.outer.offset + last.outer.length, ", " + text};
}

/// Where the start tag of an element ends: before its ">" or "/>".
std::optional<std::size_t> end_of_start_tag(ByteView body, const DocumentNode& element) {
    char quote = 0;
    for (std::size_t at = element.outer.offset; at < element.outer.offset + element.outer.length; ++at) {
        const char c = static_cast<char>(body[at]);
        if (quote != 0) {
            if (c == quote) quote = 0;
        } else if (c == '"' || c == '\'') {
            quote = c;
        } else if (c == '>') {
            return at > 0 && body[at - 1] == '/' ? at - 1 : at;
        }
    }
    return std::nullopt;
}

/// A new element behind the last one inside another.
std::optional<Insertion> element_in(const Document& document, ByteView body, int around, const std::string& text) {
    const DocumentNode& node = document.nodes()[static_cast<std::size_t>(around)];
    if (node.kind != DocumentNode::Kind::element) return std::nullopt;
    for (auto child = node.children.rbegin(); child != node.children.rend(); ++child) {
        const DocumentNode& inner = document.nodes()[static_cast<std::size_t>(*child)];
        if (inner.kind == DocumentNode::Kind::element) return Insertion{inner.outer.offset + inner.outer.length, text};
    }
    const auto end = end_of_start_tag(body, node);
    if (!end || body[*end] == '/') return std::nullopt;
    return Insertion{*end + 1, text};
}

/// `name[@key='text']/@attribute`: the one form of a predicate that says how the element is to be made.
std::optional<std::string> element_of_predicate(const std::string& step, const std::string& attribute,
                                                const std::string& value) {
    const std::size_t open = step.find("[@");
    const std::size_t equals = step.find('=', open == std::string::npos ? 0 : open);
    if (open == std::string::npos || equals == std::string::npos || !step.ends_with(']')) return std::nullopt;
    const std::string name = step.substr(0, open);
    const std::string key = step.substr(open + 2, equals - open - 2);
    std::string text = step.substr(equals + 1, step.size() - equals - 2);
    const bool quoted =
        text.size() >= 2 && (text.front() == '\'' || text.front() == '"') && text.back() == text.front();
    if (!quoted || !is_plain_name(name) || !is_plain_name(key)) return std::nullopt;
    text = text.substr(1, text.size() - 2);
    if (text.find_first_of("<&\"'") != std::string::npos) return std::nullopt;
    return '<' + name + ' ' + key + "=\"" + text + "\" " + attribute + "=\"" + value + "\"/>";
}

std::optional<Insertion> in_json(const Document& document, const std::string& path, int around,
                                 const std::string& value) {
    const CutPath cut = cut_path(path, '/');
    const std::vector<int> found = cut.before.empty() ? std::vector{around} : document.find(cut.before, around);
    if (found.size() != 1) return std::nullopt;
    return member(document, found.front(), unescaped_step(cut.last), value);
}

std::optional<Insertion> in_xml(const Document& document, ByteView body, const std::string& path, int around,
                                const std::string& value) {
    const CutPath cut = cut_path(path, '/');
    const std::vector<int> found = cut.before.empty() ? std::vector{around} : document.find(cut.before, around);
    if (!cut.last.starts_with('@')) {
        if (found.size() != 1 || !is_plain_name(cut.last)) return std::nullopt;
        return element_in(document, body, found.front(), '<' + cut.last + '>' + value + "</" + cut.last + '>');
    }
    const std::string attribute = cut.last.substr(1);
    if (!is_plain_name(attribute)) return std::nullopt;
    if (found.size() == 1) {
        const auto end = end_of_start_tag(body, document.nodes()[static_cast<std::size_t>(found.front())]);
        if (!end) return std::nullopt;
        return Insertion{*end, ' ' + attribute + "=\"" + value + '"'};
    }
    const CutPath outer = cut_path(cut.before, '/');
    const bool in_text = outer.last.find('[') == std::string::npos;
    if (!found.empty() || in_text) return std::nullopt;
    const std::vector<int> parents = outer.before.empty() ? std::vector{around} : document.find(outer.before, around);
    const auto element = element_of_predicate(outer.last, attribute, value);
    if (parents.size() != 1 || !element) return std::nullopt;
    return element_in(document, body, parents.front(), *element);
}

}  // namespace

bool BodyEditor::add_named(int anchor, const schema::Storage& storage, const Stored& stored) {
    const schema::Anchor& wanted = instances_.anchors()[static_cast<std::size_t>(anchor)];
    const bool here = wanted.parent < 0 || located().present(wanted.parent);
    if (!here || !wanted.pick || wanted.pick->nowhere || wanted.nth > 1) return false;
    Problems notes;
    const auto document = Document::read(layout_.notation, {}, body_, notes);
    if (!document) return false;
    int around = 0;
    if (wanted.parent >= 0) {
        const ByteSpan outer = located().span_of(wanted.parent);
        const auto& nodes = document.value().nodes();
        const auto at = std::ranges::find_if(nodes, [&](const DocumentNode& node) {
            return node.outer.offset == outer.offset && node.outer.length == outer.length;
        });
        if (at == nodes.end()) return false;
        around = static_cast<int>(at - nodes.begin());
    }
    const bool json = layout_.notation == schema::Notation::json;
    const std::string old = json && storage.coding == schema::Coding::text ? "\"\"" : "";
    static constexpr std::uint8_t nothing = 0;
    const ByteView raw(old.empty() ? &nothing : reinterpret_cast<const std::uint8_t*>(old.data()), old.size());
    const auto value = write_text_value(storage, stored, raw);
    if (!value) return false;
    const std::string& path = wanted.pick->place.path;
    const auto insertion =
        json ? in_json(document.value(), path, around, *value) : in_xml(document.value(), body_, path, around, *value);
    if (!insertion) return false;
    body_.insert(body_.begin() + static_cast<std::ptrdiff_t>(insertion->at), insertion->text.begin(),
                 insertion->text.end());
    located_.reset();
    return located().present(anchor);
}

}  // namespace downfit::dump
