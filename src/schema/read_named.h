// Layouts and places by name (JSON and XML dumps) from JSON. For the sources of schema/ only.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schema/context.h"
#include "schema/read_layout.h"

namespace downfit::schema {

/// Whether a path is a JSON Pointer: empty, or beginning with "/". Any other is an XPath from where it is used.
[[nodiscard]] bool is_pointer(std::string_view path);

/// A path, checked as a JSON Pointer or an XPath; nothing if it is none (reported). With `relative`, an XPath that
/// begins at the root is none.
[[nodiscard]] std::optional<std::string> read_path(const Node& node, Notation notation, bool relative,
                                                   Problems& problems);

/// The keys of a layout by name, and reading them into its framing and `other_paths`.
void read_named_layout(const Node& node, Notation notation, ReadLayout& layout, Problems& problems);

/// Whether an entry says where it stands, and how.
enum class PlaceForm : std::uint8_t { none, bytes, json, xml };
[[nodiscard]] PlaceForm form_of(const Node& entry);

/// The place of a group with `path`, `by` and `keys`.
[[nodiscard]] NamedPlace read_named_place(const ObjectReader& reader, int count);

/// The release as one layout stores it, where that differs: entries with `in` for that layout have what stands there in
/// place of all that they say of storage themselves; entries that stand in a dump of another form have no place.
/// Nothing where it does not differ.
[[nodiscard]] std::optional<RawRelease> view_of(const RawRelease& raw, const std::string& layout, Notation notation);

/// Reports what is wrong with the `in` of entries themselves: unknown layouts, keys that are not of storage.
void check_views(const RawRelease& raw, const std::vector<ReadLayout>& layouts, Problems& problems);

}  // namespace downfit::schema
