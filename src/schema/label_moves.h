// Renamed labels: what is inherited names them by their new names. For the sources of schema/ only.
#pragma once

#include <map>
#include <string>
#include <string_view>

#include "schema/node.h"

namespace downfit::schema {

struct RawRelease;
class Moves;

/// The labels that a release file renames among the choices it inherits.
class LabelMoves {
public:
    /// Reads the `rename` edits in `file` of parameters' own choices and of choice lists.
    LabelMoves(const RawRelease& base, const Node& file, const Moves& moves);

    [[nodiscard]] bool any() const { return !renamed_.empty(); }

    /// An inherited parameter's or group's node with the labels in conditions, costs, `default` and `neutral` under
    /// their new names. `id` is its own id or path; the node's references already have the parameters' new ids.
    [[nodiscard]] NodePtr follow(const NodePtr& node, std::string_view id) const;

private:
    using Labels = std::map<std::string, std::string, std::less<>>;  // old to new

    [[nodiscard]] const Labels* labels_of(std::string_view reference) const;
    [[nodiscard]] NodePtr follow_members(const NodePtr& node, const Labels* own) const;
    [[nodiscard]] NodePtr follow_cost(const NodePtr& cost) const;
    [[nodiscard]] static NodePtr renamed(const NodePtr& setting, const Labels& labels);

    std::map<std::string, Labels, std::less<>> renamed_;  // by parameter id in the extending release
};

}  // namespace downfit::schema
