// A release as its files say it, for the second loader: plain JSON with `extends` worked out on the JSON itself. Shares
// nothing with src/schema; reads only what the generator writes and trusts it to be right.
#pragma once

#include <cstdint>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

namespace downfit::testing::second {

using nlohmann::json;

/// One choice: `origin` is what it is called wherever it is the same thing.
struct Label {
    std::int64_t number = 0;
    std::string label;
    std::string origin;
};

/// A parameter or a group as it is written, everything inherited filled in.
struct Entry {
    json says;
    std::string origin;         ///< equal in two releases for the same thing
    std::vector<Label> labels;  ///< choices of a parameter, in rising order
    std::string list;           ///< the list that has them, where it is named
};

/// All that one release says.
struct Manual {
    std::string name;
    std::size_t order = 0;
    std::map<std::string, Entry> parameters, groups;
    std::map<std::string, Entry> lists;  ///< named ones; of these only `labels`
    json rules, layouts, accepts, repairs, assets, revoiced, slots;

    /// The `body` of the only layout.
    [[nodiscard]] const json& body() const { return layouts.begin()->at("body"); }
};

/// Release files by name of the release, and the device file.
struct Shelf {
    json device;
    std::map<std::string, json> releases;
};

/// File names and texts, as the library takes them.
[[nodiscard]] Shelf shelf_of(const std::vector<std::pair<std::string, std::string>>& files);

/// The place of a release in the device's list.
[[nodiscard]] std::size_t order_of(const Shelf& shelf, const std::string& release);

/// Everything that the release says, with what it extends. Names of lists are taken for the lists that they name.
[[nodiscard]] Manual manual_of(const Shelf& shelf, const std::string& release);

/// An id without brackets: "amp[2].drive" is "amp.drive".
[[nodiscard]] std::string without_brackets(const std::string& id);

/// The labels of `choices` laid over those of a parameter (a list, or an object of numbers).
[[nodiscard]] std::vector<Label> labels_in(const json& choices, const std::vector<Label>& known);

}  // namespace downfit::testing::second
