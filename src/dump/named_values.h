// The values of bodies by name (JSON, XML), each under a path that finds the same value in another body.
#pragma once

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

/// Reads bodies of one layout. Elements of XML with others of the same name beside them are told apart by an attribute
/// where one always does (and that attribute is no value then), else by their number; `learn` finds out which.
class NamedValues {
public:
    explicit NamedValues(const schema::Layout& layout);

    /// To be called with every body before values_of with any: presets leave things out.
    void learn(ByteView body);
    /// In the order of the text; none where the body cannot be read.
    [[nodiscard]] std::vector<NamedValue> values_of(ByteView body) const;

private:
    schema::Notation notation_;
    std::vector<std::string> asides_;
    /// By names of elements from the outermost: attributes that told them apart wherever several stood beside each
    /// other.
    std::map<std::string, std::vector<std::string>> keys_;
};

}  // namespace downfit::dump
