// The values of bodies by name (JSON, XML), each under a path that finds the same value in another body.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "schema/layout.h"

namespace downfit::dump {

/// One value that stands in a body by name.
struct NamedValue {
    std::string path;  ///< from the preset, as release files write it: "/drive/0/gain", "drive[2]/p[@id='3']/@v"
    std::string raw;   ///< as it stands in the file: 0.5, "Hall" with its quotes (JSON)
    std::optional<std::string> text;  ///< what it says; nothing for null
    ByteSpan span;                    ///< of `raw` in the body
    bool aside = false;               ///< the layout's own: slot, name, stamp, what changes by itself
};

/// One node of a body by name: a value, or what holds others.
struct NamedNode {
    enum class Kind : std::uint8_t { value, list, object, element, attribute };
    Kind kind = Kind::value;
    int parent = -1;        ///< index into the nodes, always lower; -1 for the preset itself
    std::string name;       ///< key, element name or attribute name; empty for items of lists
    std::string tells;      ///< of an element: the attribute that tells it from others of its name; empty for none
    bool is_value = false;  ///< something is stored right here: NamedValues lists it
    std::string raw;        ///< of a value, as NamedValue has it
    std::optional<std::string> text;  ///< of a value; also "" of an element that has but attributes
    bool aside = false;               ///< it, or what it stands in, is the layout's own
    std::vector<int> children;
};

/// Reads bodies of one layout. Elements of XML with others of the same name beside them are told apart by an attribute
/// where one always does (and that attribute is no value then), else by their number; `learn` finds out which.
class NamedValues {
public:
    explicit NamedValues(const schema::Layout& layout);

    /// To be called with every body before values_of with any: presets leave things out.
    void learn(ByteView body);
    /// In the order of the text; none where the body cannot be read.
    [[nodiscard]] std::vector<NamedValue> values_of(ByteView body) const;
    /// All nodes in the order of the text, the preset first; none where the body cannot be read.
    [[nodiscard]] std::vector<NamedNode> nodes_of(ByteView body) const;

private:
    schema::Notation notation_;
    std::vector<std::string> asides_;
    /// By names of elements from the outermost: attributes that told them apart wherever several stood beside each
    /// other.
    std::map<std::string, std::vector<std::string>> keys_;
};

}  // namespace downfit::dump
