#include "dump/document.h"

#include <algorithm>
#include <exception>
#include <utility>

#include <nlohmann/json.hpp>

#include "base/json_scan.h"
#include "base/limits.h"
#include "dump/xml_text.h"

namespace downfit::dump {

namespace {

/// One step of a JSON Pointer, unescaped; `every` for "*".
struct PointerStep {
    std::string key;
    bool every = false;
};

std::vector<PointerStep> steps_of(std::string_view path) {
    std::vector<PointerStep> steps;
    for (std::size_t at = 0; at < path.size();) {
        const std::size_t end = std::min(path.find('/', at + 1), path.size());
        const std::string_view raw = path.substr(at + 1, end - at - 1);
        PointerStep step;
        step.every = raw == "*";
        for (std::size_t i = 0; i < raw.size(); ++i) {
            const bool escape = raw[i] == '~' && i + 1 < raw.size();
            step.key += escape ? (raw[++i] == '1' ? '/' : '~') : raw[i];
        }
        steps.push_back(std::move(step));
        at = end;
    }
    return steps;
}

void append_escaped(std::string& path, std::string_view key) {
    path += '/';
    for (const char c : key) {
        if (c == '~')
            path += "~0";
        else if (c == '/')
            path += "~1";
        else
            path += c;
    }
}

}  // namespace

Document::Document() = default;
Document::Document(Document&&) noexcept = default;
Document& Document::operator=(Document&&) noexcept = default;
Document::~Document() = default;

Result<Document> Document::read(schema::Notation notation, const std::string& file, ByteView bytes, Problems& notes) {
    Document document;
    document.notation_ = notation;
    document.file_ = file;
    if (bytes.size() > limits::largest_file) return Problem{file, "the file is too large", "at most 64 MiB", {}};
    document.text_.assign(bytes.begin(), bytes.end());
    if (const auto bad = first_not_utf8(document.text_)) {
        return document.problem_at(*bad, "a byte that is not UTF-8", "text in UTF-8");
    }
    if (const std::size_t zero = document.text_.find('\0'); zero != std::string::npos) {
        return document.problem_at(zero, "a zero byte", "text in UTF-8");
    }
    try {
        auto fault = notation == schema::Notation::xml ? document.read_xml(notes) : document.read_json(notes);
        if (fault) return *std::move(fault);
    } catch (const std::exception& error) {
        return Problem{file, "the file cannot be read", {}, error.what()};
    }
    return document;
}

TextPlace Document::place_of(std::size_t offset) const {
    const Spot spot = spot_of(text_, std::min(offset, text_.size()));
    return {file_, spot.line, spot.column, {}};
}

Problem Document::problem_at(std::size_t offset, std::string what, std::string expected) const {
    return {place_of(offset), std::move(what), std::move(expected), {}};
}

std::optional<Problem> Document::read_json(Problems& notes) {
    const Scan scan = scan_json(text_, {limits::deepest_document, limits::most_nodes, true});
    if (scan.fault) {
        const SyntaxFault& fault = *scan.fault;
        return Problem{TextPlace{file_, fault.spot.line, fault.spot.column, {}}, fault.what, fault.expected,
                       fault.remedy};
    }
    std::vector<int> node_of(scan.tokens.size(), -1);
    std::string key;
    for (std::size_t t = 0; t < scan.tokens.size(); ++t) {
        const Token& token = scan.tokens[t];
        const std::string_view raw = std::string_view(text_).substr(token.offset, token.end - token.offset);
        const bool is_text = raw.front() == '"';
        auto text = is_text ? decoded_json_text(raw) : std::nullopt;
        if (is_text && !text) {
            return problem_at(token.offset, "a text with a control character or an unknown escape",
                              "\\\", \\\\, \\/, \\b, \\f, \\n, \\r, \\t or \\u and four hex digits");
        }
        if (token.key) {
            key = *std::move(text);
            continue;
        }
        DocumentNode node;
        node.kind = raw.front() == '{'   ? DocumentNode::Kind::object
                    : raw.front() == '[' ? DocumentNode::Kind::list
                                         : DocumentNode::Kind::value;
        node.outer = node.value = {token.offset, token.end - token.offset};
        node.has_value = node.kind == DocumentNode::Kind::value;
        const int self = static_cast<int>(nodes_.size());
        node_of[t] = self;
        if (token.parent >= 0) {
            node.parent = node_of[static_cast<std::size_t>(token.parent)];
            DocumentNode& parent = nodes_[static_cast<std::size_t>(node.parent)];
            if (parent.kind == DocumentNode::Kind::object) node.name = std::move(key);
            parent.children.push_back(self);
        }
        nodes_.push_back(std::move(node));
    }
    if (!scan.trailing_commas.empty()) {
        const Spot spot = scan.trailing_commas.front();
        const std::size_t more = scan.trailing_commas.size() - 1;
        notes.push_back({TextPlace{file_, spot.line, spot.column, {}},
                         "a comma before a closing bracket was passed over" +
                             (more > 0 ? " (and " + std::to_string(more) + " more)" : std::string{}),
                         "no comma there",
                         {}});
    }
    return std::nullopt;
}

std::vector<int> Document::find(const std::string& path, int from) const {
    if (notation_ == schema::Notation::xml) return find_xpath(path, from);
    return find_pointer(path, from);
}

std::vector<int> Document::find_pointer(std::string_view path, int from) const {
    std::vector<int> found;
    if (!nodes_.empty()) found.push_back(std::max(from, 0));
    for (const PointerStep& step : steps_of(path)) {
        std::vector<int> next;
        for (const int at : found) {
            const DocumentNode& node = nodes_[static_cast<std::size_t>(at)];
            const bool is_list = node.kind == DocumentNode::Kind::list;
            for (std::size_t i = 0; i < node.children.size(); ++i) {
                const int child = node.children[i];
                const std::string& name = nodes_[static_cast<std::size_t>(child)].name;
                const bool fits = step.every || (is_list ? std::to_string(i) == step.key : name == step.key);
                if (fits) next.push_back(child);
            }
        }
        found = std::move(next);
    }
    return found;
}

std::optional<std::string> Document::text_of(int node) const {
    const DocumentNode& here = nodes_[static_cast<std::size_t>(node)];
    if (!here.has_value) return std::nullopt;
    const std::string_view raw = std::string_view(text_).substr(here.value.offset, here.value.length);
    if (notation_ == schema::Notation::xml) return decoded_xml_text(raw);
    if (raw.starts_with('"')) return decoded_json_text(raw);
    return std::string(raw);
}

std::string Document::path_of(int node) const {
    std::string path;
    const DocumentNode& here = nodes_[static_cast<std::size_t>(node)];
    if (here.parent < 0) return path;
    const DocumentNode& parent = nodes_[static_cast<std::size_t>(here.parent)];
    path = path_of(here.parent);
    if (notation_ == schema::Notation::json) {
        const auto at = std::ranges::find(parent.children, node) - parent.children.begin();
        append_escaped(path, parent.kind == DocumentNode::Kind::list ? std::to_string(at) : here.name);
        return path;
    }
    if (!path.empty()) path += '/';
    if (here.kind == DocumentNode::Kind::attribute) return path + "@" + here.name;
    path += here.name;
    int before = 0, all = 0;
    for (const int child : parent.children) {
        const DocumentNode& other = nodes_[static_cast<std::size_t>(child)];
        if (other.kind != here.kind || other.name != here.name) continue;
        ++all;
        if (child <= node) ++before;
    }
    if (all > 1) path += "[" + std::to_string(before) + "]";
    return path;
}

std::optional<std::string> decoded_json_text(std::string_view raw) {
    if (raw.size() < 2 || raw.front() != '"') return std::nullopt;
    const bool plain =
        std::ranges::all_of(raw, [](char c) { return c != '\\' && static_cast<unsigned char>(c) >= 0x20; });
    if (plain) return std::string(raw.substr(1, raw.size() - 2));
    const auto value = nlohmann::json::parse(raw, nullptr, false);
    if (!value.is_string()) return std::nullopt;
    return value.get<std::string>();
}

}  // namespace downfit::dump
