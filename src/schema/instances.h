// Instances: a release's parameters repeated as often as their groups say, each with its absolute place.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "schema/device.h"

namespace downfit::schema {

/// What a named anchor is: the value at a path that counts from its parent anchor.
struct NamedPick {
    NamedPlace place;      ///< without keys
    std::string key;       ///< unless by order: what must stand there
    bool single = true;    ///< only one is expected, so that more are repeated
    bool nowhere = false;  ///< of a parameter without a path in this layout

    bool operator==(const NamedPick&) const = default;
};

/// Where places count from: the body, the value of a record inside another anchor, or a value found by name.
struct Anchor {
    int parent = -1;                ///< index into Instances::anchors(), always lower; -1: the body
    std::int64_t tag = 0;           ///< the record's id
    int nth = 1;                    ///< which of the records with that id (of what the path finds), from 1
    int group = -1;                 ///< group instance that it belongs to; -1 for a parameter's own record
    std::optional<NamedPick> pick;  ///< by name; `tag` means nothing then
};

/// One instance of a group: amp[2].alternate[3].
struct GroupInstance {
    int group = 0;             ///< index into Release::groups
    int parent = -1;           ///< index into Instances::groups, always lower; -1 for none
    std::vector<int> indices;  ///< from 1, one for each enclosing group and the own, outermost first
    int anchor = -1;           ///< index into Instances::anchors(); -1: the body
    std::int64_t base = 0;     ///< byte from the anchor's start from which its parameters' places count
    std::string id;            ///< "amp[2].alternate[3]"; brackets only where the count is above one
    std::string key;           ///< the group's meaning with all indices: equal in all releases for the same thing
};

/// One instance of a parameter.
struct Field {
    int parameter = 0;           ///< index into Release::parameters
    int group = -1;              ///< index into Instances::groups
    int anchor = -1;             ///< index into Instances::anchors(); -1: the body
    int element = 0;             ///< of a list: which element, from 1
    std::string id;              ///< "amp[2].alternate[3].drive", "curve[3]"
    std::string key;             ///< the parameter's meaning with all indices
    Storage storage;             ///< places from the anchor's start
    std::vector<Storage> reads;  ///< the same of Parameter::reads
};

/// All instances of one release. Keeps a pointer to the release, which must outlive it.
class Instances {
public:
    explicit Instances(const Release& release);

    [[nodiscard]] const Release& release() const { return *release_; }
    [[nodiscard]] const std::vector<GroupInstance>& groups() const { return groups_; }
    /// All records that fields and groups lie in; empty for bodies without records.
    [[nodiscard]] const std::vector<Anchor>& anchors() const { return anchors_; }
    /// In order of group instance, then as the release lists them.
    [[nodiscard]] const std::vector<Field>& fields() const { return fields_; }
    [[nodiscard]] const Parameter& parameter(const Field& field) const {
        return release_->parameters[static_cast<std::size_t>(field.parameter)];
    }

    /// The field that `id` means as seen from group instance `from` (-1: from outside all groups). Ids without brackets
    /// take the indices of `from` for groups of the same path (of the same last name, where the path differs), and 1
    /// otherwise.
    [[nodiscard]] std::optional<std::size_t> resolve(std::string_view id, int from) const;
    /// The field or group instance with that key, or nullopt.
    [[nodiscard]] std::optional<std::size_t> find_key(std::string_view key) const;
    [[nodiscard]] std::optional<std::size_t> find_group_key(std::string_view key) const;

private:
    const Release* release_;
    std::vector<GroupInstance> groups_;
    std::vector<Field> fields_;
    std::vector<Anchor> anchors_;
    std::unordered_map<std::string, std::size_t> by_key_;
    std::unordered_map<std::string, std::size_t> by_full_id_;  // every group with its index, also [1]
    std::unordered_map<std::string, std::size_t> group_by_key_;
};

}  // namespace downfit::schema
