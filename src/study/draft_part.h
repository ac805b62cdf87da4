// What a draft by name is made of: groups that might be drafted, and what their records hold.
//
// Internal to study/.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "dump/named_values.h"
#include "study/draft.h"
#include "study/draft_names.h"

namespace downfit::study {

/// One node of one preset.
struct SeenNode {
    const std::vector<dump::NamedNode>* nodes = nullptr;
    int at = -1;

    [[nodiscard]] const dump::NamedNode& node() const { return (*nodes)[static_cast<std::size_t>(at)]; }
    [[nodiscard]] SeenNode child(int index) const { return {nodes, index}; }
};
using SeenNodes = std::vector<SeenNode>;

/// A parameter that might be drafted, with what each record of its group holds; null where it holds nothing.
struct Found {
    DraftParameter parameter;
    bool varies = false;
    std::vector<const dump::NamedNode*> held;
};

/// A group that might be drafted; without a place all of the preset.
struct Part {
    DraftGroup group;
    bool comes_and_goes = false;  ///< not all that it stands in has it, or not as often
    bool repeated = false;        ///< it, or a group around it, may be there several times
    std::size_t records = 0;      ///< all that were seen
    std::vector<Found> found;
    std::vector<std::pair<std::string, bool>> unread;  ///< places that no kind of parameter reads; whether they differ
    std::vector<std::unique_ptr<Part>> inner;
    std::vector<std::vector<bool>> inner_held;  ///< of each of `inner`: which records have it
    NamesInUse names;
};

/// What stands at one name of several records: which record each is from.
struct SameName {
    std::string name;
    std::vector<std::pair<std::size_t, SeenNode>> spots;
};

/// The inside of several instances of a group, by what tells them apart.
struct Keyed {
    std::vector<std::string> keys;  ///< in order of appearance, one as often as a record has it
    std::vector<std::pair<std::string, SeenNodes>> by_key;
    std::map<std::string, std::pair<std::size_t, std::size_t>> index;  ///< place in by_key, how often in keys
    std::size_t records = 0;                                           ///< of what the instances stand in
};

/// The only value of an element beside the attribute that tells it: the path from it, and the value; nothing where it
/// holds more, or none.
struct Single {
    std::string path;
    SeenNode spot;
};
[[nodiscard]] std::optional<Single> single_value(const SeenNode& element, const std::string& tells);

/// The value of that name in an object (JSON); nothing where there is none, or where it is the layout's own.
[[nodiscard]] std::optional<std::string> value_named(const SeenNode& object, const std::string& name);
[[nodiscard]] std::optional<std::string> attribute_of(const SeenNode& element, const std::string& name);

/// How many of them each record has.
[[nodiscard]] std::vector<std::size_t> counts_of(const SameName& place, std::size_t records);

/// Adds the instances of one record.
void gather(Keyed& keyed, const std::vector<std::pair<std::string, SeenNode>>& all);

/// Whether the keys only number them, and whether what stands in them is much the same.
[[nodiscard]] bool are_numbered(const Keyed& keyed);
[[nodiscard]] bool are_alike(const Keyed& keyed);

/// Marks what is to be drafted as varying; true where anything is. A group that comes and goes and of which nothing
/// differs has all of it drafted: that it is there says something.
bool decide(Part& part);
[[nodiscard]] bool is_drafted(const Part& part);

/// Remarks on the value, if any, with which it changes what else the group holds: mostly the model of a block.
void tell_what_decides(Part& part);

}  // namespace downfit::study
