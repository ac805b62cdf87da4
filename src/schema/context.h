// What reading one release needs to know around the node at hand. For the sources of schema/ only.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "schema/condition.h"
#include "schema/inherit.h"
#include "schema/node.h"
#include "schema/parameter.h"

namespace downfit::schema {

/// The release being read, merged; the device's release names, oldest first; and where problems go.
struct Context {
    const RawRelease& release;
    const std::vector<std::string>& releases;
    Problems& problems;
};

/// Takes out the problems from index `told` on whose place is among those before: a copy has all that its source has.
void forget_repeated(Problems& problems, std::size_t told);

/// The kind a parameter's node says or implies (docs/formats.md, "Parameters"); `whole` if it says nonsense.
[[nodiscard]] Kind kind_of(const RawRelease& release, const RawEntry& entry);

/// What a setting (default, neutral, `is`) may be.
struct SettingTarget {
    Kind kind = Kind::whole;
    const WrittenChoices* choices = nullptr;  ///< null: labels and numbers are not checked
    std::optional<std::int64_t> nothing;      ///< of a reference: the number that is allowed besides
};

/// The number with which a reference points at nothing, where its node says one.
[[nodiscard]] std::optional<std::int64_t> nothing_of(const RawEntry& entry);

/// Whether a parameter is a reference that names its target by a text: `refers-by` "name" or "hash".
[[nodiscard]] bool refers_by_text(const Node& node);

/// Whether any run of records in the release has a version in its heads.
[[nodiscard]] bool has_versions(const RawRelease& release);

/// What settings of that parameter may be. Labels are not checked where `varies` or `reads`
/// change them.
[[nodiscard]] SettingTarget target_of(const RawRelease& release, const RawEntry& entry);

/// A number, a label or a text as the target allows; of a switch true, "on" and 1 (false, "off" and 0) alike, as 1 (0).
[[nodiscard]] std::optional<Setting> read_setting(const Node& node, const SettingTarget& target, Problems& problems);

/// The parameter that a reference (an id, brackets allowed) means; reports unknown ones and brackets beyond the count.
/// Nothing, and no report, for what lies in a group that is in doubt.
[[nodiscard]] const RawEntry* read_reference(const Node& node, const Context& context);

/// The same of a parameter that says a number: reports one that does not.
[[nodiscard]] const RawEntry* read_number_reference(const Node& node, const Context& context);

/// The same for a text that stands elsewhere: what is wrong with it, or nothing.
struct ReferenceFault {
    std::string what, expected, remedy;
};
[[nodiscard]] std::optional<ReferenceFault> fault_of_reference(std::string_view text, const RawRelease& release);

/// The index of a release name in the device's list; reports unknown ones.
[[nodiscard]] std::optional<std::size_t> read_release_name(const Node& node, const std::vector<std::string>& releases,
                                                           Problems& problems);

/// A condition; nothing if anything in it is wrong (reported).
[[nodiscard]] std::optional<Condition> read_condition(const Node& node, const Context& context);

/// The one comparison in an object of `is`, `at-least`, `at-most`, `above`, `below` (for `accepts`): against release
/// names or against numbers. The subject's name stays empty.
[[nodiscard]] std::optional<Condition> read_comparison(const Node& node, Condition::Subject subject,
                                                       const Context& context);

}  // namespace downfit::schema
