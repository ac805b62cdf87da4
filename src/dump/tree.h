// The parameter tree of one body, as one release reads it, for people and for `contents`: no loading rules are applied.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "dump/fields.h"
#include "schema/instances.h"

namespace downfit::dump {

class NamedBody;

/// One parameter instance with what stands in the body.
struct Leaf {
    std::size_t field = 0;  ///< index into Instances::fields()
    Stored stored;
    std::string value;   ///< for display: number with unit, label, text (UTF-8); "?" for a number without meaning
    bool exists = true;  ///< its and its groups' `when` hold
    bool at_default = false;
    bool beyond_range = false;  ///< a number outside the range that this release gives it
    std::string range;          ///< of such a number: "-60..12"
};

/// All leaves in the order of Instances::fields(). `stamp_release` is the order of the release that the stamp names,
/// for conditions on it; facts of the unit are unknown here, and a condition on one counts as holding. `device` tells
/// the order of release names; without it, as without `stamp_release`, conditions on the stamp count as holding too.
/// `layout` (index into Release::layouts) says whether the body is a run of records; without it, it is taken as the
/// layout that holds presets (without `device`: the first).
[[nodiscard]] std::vector<Leaf> decode_tree(const schema::Instances& instances, ByteView body,
                                            std::optional<std::size_t> stamp_release,
                                            const schema::Device* device = nullptr,
                                            std::optional<std::size_t> layout = std::nullopt);

/// The preset's name: the text of its parameter with role `name` outside all repeated groups, converted to UTF-8 (bytes
/// that cannot be become U+FFFD); empty without one. `layout` as above; `named`: the body by name, where it was read
/// already.
[[nodiscard]] std::string preset_name(const schema::Instances& instances, ByteView body,
                                      std::optional<std::size_t> layout = std::nullopt, NamedBody* named = nullptr);

/// A stored text in its encoding as UTF-8, and whether all of it could be shown: control characters cannot.
struct Utf8Text {
    std::string text;
    bool complete = true;
};
[[nodiscard]] Utf8Text to_utf8(const std::string& raw, schema::Encoding encoding);

/// The bytes of the body that no field of the release covers (indices, rising). Volatile bytes count as covered, and so
/// do heads of records that the release takes, end marks and what stands behind them, and check, length, stamp and
/// empty-test bytes of the layout's framing, where `device` is there to look it up. `named` as above.
[[nodiscard]] std::vector<std::size_t> unexplained_bytes(const schema::Instances& instances, std::size_t layout,
                                                         ByteView body, const schema::Device* device = nullptr,
                                                         NamedBody* named = nullptr);

/// The same for a body of which only the length is known: not for records.
[[nodiscard]] std::vector<std::size_t> unexplained_bytes(const schema::Instances& instances, std::size_t layout,
                                                         std::size_t body_length,
                                                         const schema::Device* device = nullptr);

}  // namespace downfit::dump
