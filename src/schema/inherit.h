// Inheritance: what a release has once everything it extends is merged in, still as JSON. For the sources of schema/
// only.
#pragma once

#include <functional>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "base/problem.h"
#include "schema/choice_edits.h"
#include "schema/node.h"

namespace downfit::schema {

/// A group or a parameter, merged. Its node has no `choices` and no `renamed-from` any more.
struct RawEntry {
    std::string id;       ///< id or path
    std::string meaning;  ///< what it is across releases
    NodePtr node;
    bool copied = false;  ///< had from the group that an enclosing one is `like`, and not written itself
};

/// Entries in order, found by id.
class RawEntries {
public:
    void add(RawEntry entry);
    [[nodiscard]] const RawEntry* find(std::string_view id) const;
    [[nodiscard]] RawEntry* find(std::string_view id);
    [[nodiscard]] const std::vector<RawEntry>& all() const { return entries_; }
    [[nodiscard]] std::vector<std::string_view> ids() const;
    /// Takes out the entries of which `unwanted` holds.
    void remove(const std::function<bool(const RawEntry&)>& unwanted);

private:
    std::vector<RawEntry> entries_;
    std::unordered_map<std::string, std::size_t> index_;
};

/// One release, resolved.
struct RawRelease {
    std::string name;  ///< empty for what all releases start from
    NodePtr file;      ///< the release file as written: what is not inherited is read from it
    RawEntries groups;
    RawEntries parameters;
    std::map<std::string, WrittenChoices, std::less<>> choices;                 ///< by parameter id
    std::map<std::string, WrittenChoices, std::less<>> lists;                   ///< choice lists by name
    NodePtr layouts, rules, slots, variants, assets, accepts, repairs, budget;  ///< each may be null
    std::map<std::string, std::string, std::less<>> moved_copies;  ///< copies that are renamed, or gone (empty)
    std::set<std::string, std::less<>> doubtful;                   ///< groups whose `like` is wrong and told

    /// Whether it has more groups or parameters than limits::most_groups and limits::most_parameters.
    [[nodiscard]] bool too_large() const;
    /// Whether an id or path lies in a group of which nobody knows what is in it.
    [[nodiscard]] bool in_doubt(std::string_view id) const;
    /// The entries of a parameter's choices, followed to the choice list; null without choices or with an unknown list.
    [[nodiscard]] const WrittenChoices* choices_of(std::string_view parameter) const;
};

/// What a release that extends none starts from: the parts of a device file that releases may override.
[[nodiscard]] RawRelease device_start(const Node& device);

/// The release in `file` over `base` (the release that it extends, or device_start): groups and parameters renamed and
/// removed, references to renamed ones, and renamed labels, in what is inherited following them, everything merged (RFC
/// 7396), choices edited.
[[nodiscard]] RawRelease inherit(const RawRelease& base, const NodePtr& file, const std::string& name,
                                 Problems& problems);

/// Groups with `like` get the other group's parameters and inner groups under their own path, unless they have their
/// own. What these ask inside the other group, they ask inside the own one; brackets keep naming what they named.
/// Copies of an earlier release are made anew. Reports unknown paths and circles.
void copy_alike(RawRelease& release, Problems& problems);

}  // namespace downfit::schema
