// Renames and removals between a release and the one it extends. For the sources of schema/ only.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "base/problem.h"
#include "schema/node.h"

namespace downfit::schema {

class RawEntries;

/// A parameter's or group's node with every reference in it replaced, in conditions too.
[[nodiscard]] NodePtr with_references(const NodePtr& node,
                                      const std::function<std::string(const std::string&)>& replace);

/// Where the groups and parameters of the extended release are in the extending one.
class Moves {
public:
    /// Reads `renamed-from` and `null` of a release file's groups and parameters. `groups` and `parameters` are those
    /// of the extended release. Reports unknown names, names taken twice, and new names that are taken.
    Moves(const Node& file, const RawEntries& groups, const RawEntries& parameters, Problems& problems);

    /// The new path of an inherited group, or nothing if it is gone.
    [[nodiscard]] std::optional<std::string> group(std::string_view path) const;
    /// The new id of an inherited parameter, or nothing if it is gone.
    [[nodiscard]] std::optional<std::string> parameter(std::string_view id) const;

    /// Whether anything has another name now.
    [[nodiscard]] bool any_renamed() const { return !renamed_groups_.empty() || !renamed_parameters_.empty(); }

    /// A reference ("amp[2].drive") under its new name. Unchanged if what it means is gone.
    [[nodiscard]] std::string reference(std::string_view id) const;
    /// An inherited parameter's or group's node with all references in it, and `like`, under their new names.
    [[nodiscard]] NodePtr follow(const NodePtr& node) const;
    /// The `variants` with the group paths in `limits` under their new names.
    [[nodiscard]] NodePtr follow_variants(const NodePtr& variants) const;

private:
    void read_section(const Node& file, std::string_view section, const RawEntries& entries, Problems& problems);

    std::map<std::string, std::string, std::less<>> renamed_groups_, renamed_parameters_;  // old to new
    std::set<std::string, std::less<>> removed_groups_, removed_parameters_;
};

}  // namespace downfit::schema
