// Parameter ids and group paths: names joined by points, each perhaps with an instance number in brackets.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace downfit::schema {

/// One step of an id: "alternate" or "alternate[3]".
struct IdStep {
    std::string name;
    int index = 0;  ///< from 1; 0 where no brackets are written

    bool operator==(const IdStep&) const = default;
};

/// The steps of "amp[2].alternate.drive"; nothing if that is no id. The last step never has brackets unless
/// `group` says that a group's path is meant.
[[nodiscard]] std::optional<std::vector<IdStep>> parse_id(std::string_view text, bool group = false);

/// The id without its brackets: "amp.alternate.drive".
[[nodiscard]] std::string plain_id(const std::vector<IdStep>& steps);

/// Whether a name is lower-case letters, digits and "-" and not empty.
[[nodiscard]] bool is_name(std::string_view text);

/// "amp.alternate" of "amp.alternate.drive"; empty for a name alone.
[[nodiscard]] std::string_view group_part(std::string_view id);

/// "drive" of "amp.alternate.drive".
[[nodiscard]] std::string_view name_part(std::string_view id);

}  // namespace downfit::schema
