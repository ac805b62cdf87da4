// Parameters, groups and rules from merged JSON. For the sources of schema/ only.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "schema/context.h"
#include "schema/parameter.h"
#include "schema/reader.h"

namespace downfit::schema {

/// The choice lists of one release, each made once and shared.
class SharedChoices {
public:
    explicit SharedChoices(const RawRelease& release) : release_(release) {}

    /// The choices as a parameter has them; reports an unknown list. Null if there is none.
    [[nodiscard]] std::shared_ptr<const ChoiceList> get(const WrittenChoices& choices, Problems& problems);

private:
    const RawRelease& release_;
    std::unordered_map<std::string, std::shared_ptr<const ChoiceList>> lists_;
};

/// Where a parameter stands: `at`, `as`, `order`, `bit`, `width`, `signed`, `length`, `encoding`, `padding`.
/// `may_be_text` as its kind allows. Without `at_needed` a missing `at` is 0.
[[nodiscard]] Storage read_storage(const ObjectReader& reader, Kind kind, bool may_be_text, bool at_needed);

/// The same of a parameter with `path`: `as`, `length`, `encoding`. What texts stand for is not yet in it.
[[nodiscard]] Storage read_named_storage(const ObjectReader& reader, Kind kind, std::string_view path);

/// Bytes from the first to the last that a storage takes.
[[nodiscard]] std::int64_t first_byte(const Storage& storage);
[[nodiscard]] std::int64_t last_byte(const Storage& storage);

/// A scale; the identity if it is wrong (reported).
[[nodiscard]] Scale read_scale(const Node& node, Problems& problems);

/// `plain` with what `reader` states of scale, unit, range, plays, step, default, neutral and role laid over it.
/// `choices` are those that the result has.
[[nodiscard]] Meaning read_meaning(const ObjectReader& reader, Meaning plain, const SettingTarget& target,
                                   Problems& problems);

/// Loading rules. `of_parameter` leaves out those that only whole presets have.
[[nodiscard]] Rules read_rules(const Node& node, bool of_parameter, Problems& problems);

/// Where each rule in the same node stands, in the order of the table.
[[nodiscard]] std::vector<RulePlace> rule_places(const Node& node);

/// What a refusal takes with it, where `refuses` stands.
[[nodiscard]] std::optional<Refuses> read_refuses(const ObjectReader& reader);

/// All groups in the order written, but parents before children.
[[nodiscard]] std::vector<Group> read_groups(const Context& context);

/// All parameters; `groups` as read_groups gave them.
[[nodiscard]] std::vector<Parameter> read_parameters(const Context& context, const std::vector<Group>& groups,
                                                     const std::vector<std::string>& assets);

}  // namespace downfit::schema
