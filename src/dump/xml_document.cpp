// Reading XML into nodes with their places, and finding them by XPath 1.0.
#include <algorithm>
#include <charconv>
#include <utility>

#include "base/limits.h"
#include "base/text.h"
#include "dump/xml_text.h"

namespace downfit::dump {

namespace {

constexpr std::string_view cdata_start = "<![CDATA[";
constexpr std::string_view cdata_end = "]]>";

/// Behind the next `what` from `at`; the end of the text where there is none.
std::size_t behind(std::string_view text, std::string_view what, std::size_t at) {
    const std::size_t found = text.find(what, at);
    return found == std::string_view::npos ? text.size() : found + what.size();
}

void append_utf8(std::string& text, std::uint32_t code) {
    const auto put = [&](std::uint32_t byte) { text += static_cast<char>(byte); };
    if (code < 0x80) {
        put(code);
    } else if (code < 0x800) {
        put(0xC0 | (code >> 6));
        put(0x80 | (code & 0x3F));
    } else if (code < 0x10000) {
        put(0xE0 | (code >> 12));
        put(0x80 | ((code >> 6) & 0x3F));
        put(0x80 | (code & 0x3F));
    } else {
        put(0xF0 | (code >> 18));
        put(0x80 | ((code >> 12) & 0x3F));
        put(0x80 | ((code >> 6) & 0x3F));
        put(0x80 | (code & 0x3F));
    }
}

/// What stands between "&" and ";": one of the five entities of XML 1.0, or a character's number.
bool append_reference(std::string& text, std::string_view name) {
    constexpr std::pair<std::string_view, char> known[] = {
        {"amp", '&'}, {"lt", '<'}, {"gt", '>'}, {"quot", '"'}, {"apos", '\''}};
    for (const auto& [word, character] : known) {
        if (name != word) continue;
        text += character;
        return true;
    }
    if (!name.starts_with('#')) return false;
    const bool hex = name.starts_with("#x");
    const std::string_view digits = name.substr(hex ? 2 : 1);
    std::uint32_t code = 0;
    const char* end = digits.data() + digits.size();
    const auto [stop, error] = std::from_chars(digits.data(), end, code, hex ? 16 : 10);
    const bool is_character = code > 0 && code < 0x110000 && (code < 0xD800 || code > 0xDFFF);
    if (error != std::errc{} || stop != end || !is_character) return false;
    append_utf8(text, code);
    return true;
}

/// Walks the parsed tree and finds every node's place in the text.
class Walker {
public:
    Walker(std::string_view text, std::size_t base, const char* buffer, std::vector<DocumentNode>& nodes,
           std::vector<pugi::xml_node>& elements, std::unordered_map<std::size_t, int>& index_of)
        : text_(text), base_(base), buffer_(buffer), nodes_(nodes), elements_(elements), index_of_(index_of) {}

    /// Adds an element with all inside it. False where it lies too deep (`fault`: where).
    bool add(pugi::xml_node element, int parent, std::size_t depth) {
        const std::size_t start = offset_of(element) - 1;
        if (depth > limits::deepest_document || nodes_.size() > limits::most_nodes) {
            fault = start;
            return false;
        }
        const int self = put(DocumentNode::Kind::element, element.name(), parent, element);
        index_of_.emplace(element.hash_value(), self);
        std::size_t at = start + 1 + std::string_view(element.name()).size();
        for (const pugi::xml_attribute attribute : element.attributes()) {
            const std::size_t value = base_ + static_cast<std::size_t>(attribute.value() - buffer_);
            const std::size_t end = std::min(text_.find(text_[value - 1], value), text_.size());
            const int index = put(DocumentNode::Kind::attribute, attribute.name(), self, {});
            index_of_.emplace(attribute.hash_value(), index);
            node(index).outer = node(index).value = {value, end - value};
            at = end + 1;
        }
        const std::size_t tag_end = behind(text_, ">", at);
        if (text_[tag_end - 2] == '/' && !element.first_child()) {
            node(self).outer = {start, tag_end - start};
            node(self).value = {tag_end, 0};
            node(self).has_value = true;
            return true;
        }
        return add_content(element, self, start, tag_end, depth);
    }

    std::size_t fault = 0;

private:
    bool add_content(pugi::xml_node element, int self, std::size_t start, std::size_t at, std::size_t depth) {
        ByteSpan text{at, 0};
        int texts = 0;
        bool has_elements = false;
        for (const pugi::xml_node child : element.children()) {
            switch (child.type()) {
                case pugi::node_element: {
                    has_elements = true;
                    const auto index = nodes_.size();
                    if (!add(child, self, depth + 1)) return false;
                    at = nodes_[index].outer.offset + nodes_[index].outer.length;
                    break;
                }
                case pugi::node_pcdata: {
                    const std::size_t from = offset_of(child);
                    at = std::min(text_.find('<', from), text_.size());
                    text = texts++ == 0 ? ByteSpan{from, at - from} : ByteSpan{text.offset, at - text.offset};
                    break;
                }
                case pugi::node_cdata: {
                    const std::size_t from = offset_of(child) - cdata_start.size();
                    at = behind(text_, cdata_end, from);
                    text = texts++ == 0 ? ByteSpan{from, at - from} : ByteSpan{text.offset, at - text.offset};
                    break;
                }
                case pugi::node_comment: at = behind(text_, "-->", at); break;
                case pugi::node_pi: at = behind(text_, "?>", at); break;
                default: break;
            }
        }
        const std::size_t end = behind(text_, ">", behind(text_, "</", at));
        node(self).outer = {start, end - start};
        node(self).value = text;
        node(self).has_value = !has_elements && texts <= 1;
        return true;
    }

    std::size_t offset_of(pugi::xml_node at) const { return base_ + static_cast<std::size_t>(at.offset_debug()); }
    DocumentNode& node(int index) { return nodes_[static_cast<std::size_t>(index)]; }

    int put(DocumentNode::Kind kind, std::string name, int parent, pugi::xml_node element) {
        const int self = static_cast<int>(nodes_.size());
        nodes_.push_back({kind, parent, std::move(name), {}, {}, true, {}});
        elements_.push_back(element);
        if (parent >= 0) node(parent).children.push_back(self);
        return self;
    }

    std::string_view text_;
    std::size_t base_;
    const char* buffer_;
    std::vector<DocumentNode>& nodes_;
    std::vector<pugi::xml_node>& elements_;
    std::unordered_map<std::size_t, int>& index_of_;
};

bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

}  // namespace

std::optional<Problem> Document::read_xml(Problems& notes) {
    const std::size_t base = text_.starts_with(byte_order_mark) ? byte_order_mark.size() : 0;
    const auto first = std::find_if_not(text_.begin() + static_cast<std::ptrdiff_t>(base), text_.end(), is_blank);
    const auto begin = static_cast<std::size_t>(first - text_.begin());
    if (begin > base && std::string_view(text_).substr(begin).starts_with("<?xml")) {
        notes.push_back({place_of(base),
                         "blanks before the XML declaration were passed over",
                         "the declaration at the very beginning",
                         {}});
    }
    if (const std::size_t entity = text_.find("<!ENTITY"); entity != std::string::npos) {
        return problem_at(entity, "the file declares an entity of its own, which Downfit neither fetches nor expands",
                          "a file without <!ENTITY");
    }
    xml_ = std::make_unique<Xml>();
    xml_->buffer = text_.substr(base);
    constexpr unsigned flags = pugi::parse_minimal | pugi::parse_cdata | pugi::parse_comments | pugi::parse_pi |
                               pugi::parse_declaration | pugi::parse_doctype | pugi::parse_escapes |
                               pugi::parse_ws_pcdata;
    const pugi::xml_parse_result result =
        xml_->tree.load_buffer_inplace(xml_->buffer.data(), xml_->buffer.size(), flags, pugi::encoding_utf8);
    if (!result) {
        const auto at = base + static_cast<std::size_t>(std::max<std::ptrdiff_t>(result.offset, 0));
        return problem_at(at, "this is not well-formed XML: " + std::string(result.description()),
                          "XML 1.0, complete to the end of its outermost element");
    }
    Walker walker(text_, base, xml_->buffer.data(), nodes_, xml_->elements, xml_->index_of);
    if (walker.add(xml_->tree.document_element(), -1, 1)) return std::nullopt;
    return problem_at(walker.fault, "too many elements inside each other", "at most 64 levels");
}

std::vector<int> Document::find_xpath(const std::string& path, int from) const {
    std::vector<int> found;
    if (nodes_.empty()) return found;
    const pugi::xml_node start = from < 0 ? pugi::xml_node(xml_->tree) : xml_->elements[static_cast<std::size_t>(from)];
    if (!start) return found;
    try {
        const pugi::xpath_query query(path.c_str());
        if (!query || query.return_type() != pugi::xpath_type_node_set) return found;
        for (const pugi::xpath_node& node : query.evaluate_node_set(start)) {
            // The text of an element is the element's value.
            const bool is_text = !node.attribute() && node.node().type() != pugi::node_element;
            const std::size_t hash = node.attribute() ? node.attribute().hash_value()
                                     : is_text        ? node.parent().hash_value()
                                                      : node.node().hash_value();
            const auto at = xml_->index_of.find(hash);
            if (at != xml_->index_of.end()) found.push_back(at->second);
        }
    } catch (const std::exception&) {
        return {};
    }
    std::ranges::sort(found);
    return found;
}

std::optional<std::string> decoded_xml_text(std::string_view raw) {
    if (raw.starts_with(cdata_start) && raw.ends_with(cdata_end)) {
        return std::string(raw.substr(cdata_start.size(), raw.size() - cdata_start.size() - cdata_end.size()));
    }
    std::string text;
    for (std::size_t at = 0; at < raw.size();) {
        const std::size_t reference = std::min(raw.find('&', at), raw.size());
        text += raw.substr(at, reference - at);
        if (reference == raw.size()) break;
        const std::size_t end = raw.find(';', reference);
        if (end == std::string_view::npos || !append_reference(text, raw.substr(reference + 1, end - reference - 1))) {
            return std::nullopt;
        }
        at = end + 1;
    }
    return text;
}

}  // namespace downfit::dump
