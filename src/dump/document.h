// Documents: a JSON or XML text as nodes that know where they stand in it, and values found by their paths.
//
// Internal to dump/. The text itself is what is kept and written back; this only says what stands where.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/bytes.h"
#include "base/problem.h"
#include "base/result.h"
#include "schema/layout.h"

namespace downfit::dump {

/// One value: of JSON a number, text, word, list or object; of XML an element or an attribute.
struct DocumentNode {
    enum class Kind : std::uint8_t { value, list, object, element, attribute };
    Kind kind = Kind::value;
    int parent = -1;   ///< always lower than the own index
    std::string name;  ///< key, element name or attribute name; empty for items
    ByteSpan outer;    ///< all of it; of an attribute its value between the quotes
    ByteSpan value;    ///< what is read as its value: all of a JSON value, the text of an element without others inside
    bool has_value = true;  ///< false for elements that hold elements
    std::vector<int> children;
};

class Document {
public:
    /// Reads a whole text. Fails, with file, line, column and what was expected, where it is no such document. `notes`
    /// gets what is tolerated: commas before closing brackets, blank lines before an XML declaration. Never fetches
    /// anything: a file that declares entities of its own is refused. Never throws.
    [[nodiscard]] static Result<Document> read(schema::Notation notation, const std::string& file, ByteView bytes,
                                               Problems& notes);
    Document(Document&&) noexcept;
    Document& operator=(Document&&) noexcept;
    ~Document();

    /// All nodes, in document order; the first is the outermost.
    [[nodiscard]] const std::vector<DocumentNode>& nodes() const { return nodes_; }

    /// The nodes at a path, in document order: from node `from`, or from the document itself (-1). Members with the
    /// same key are all found.
    [[nodiscard]] std::vector<int> find(const std::string& path, int from) const;

    /// The value of a node as a text (JSON: also of numbers and words); nothing where it is none.
    [[nodiscard]] std::optional<std::string> text_of(int node) const;

    /// Where a node stands, from the outermost one: "/amp/drive", "amp[2]/@drive".
    [[nodiscard]] std::string path_of(int node) const;

    /// Line and column of a byte of the text.
    [[nodiscard]] TextPlace place_of(std::size_t offset) const;

private:
    struct Xml;
    Document();
    [[nodiscard]] std::optional<Problem> read_json(Problems& notes);
    [[nodiscard]] std::optional<Problem> read_xml(Problems& notes);
    [[nodiscard]] Problem problem_at(std::size_t offset, std::string what, std::string expected) const;
    [[nodiscard]] std::vector<int> find_pointer(std::string_view path, int from) const;
    [[nodiscard]] std::vector<int> find_xpath(const std::string& path, int from) const;

    schema::Notation notation_ = schema::Notation::json;
    std::string file_;
    std::string text_;
    std::vector<DocumentNode> nodes_;
    std::unique_ptr<Xml> xml_;
};

/// The place of the first byte that is not UTF-8, or nothing.
[[nodiscard]] std::optional<std::size_t> first_not_utf8(const std::string& text);

/// The text that a JSON text in quotes, or the raw text of an XML value, stands for; nothing where it is none.
[[nodiscard]] std::optional<std::string> decoded_json_text(std::string_view raw);
[[nodiscard]] std::optional<std::string> decoded_xml_text(std::string_view raw);

}  // namespace downfit::dump
