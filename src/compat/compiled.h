// A release compiled for loading: fields in evaluation order, conditions bound to field indices, ranges and defaults as
// stored numbers, rules resolved. Compiled once, used for every preset.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dump/fields.h"
#include "schema/instances.h"

namespace downfit::compat {

/// A bound condition; the tree of schema::Condition with names resolved. Nodes live in CompiledRelease::conditions.
struct BoundCondition {
    schema::Condition::Kind kind = schema::Condition::Kind::all;
    std::vector<BoundCondition> parts;
    schema::Condition::Subject subject = schema::Condition::Subject::parameter;
    schema::Condition::Operator op = schema::Condition::Operator::is;
    int field = -1;    ///< of a comparison with a parameter
    std::string fact;  ///< of a comparison with a fact
    std::vector<schema::Setting> settings;
    std::vector<std::size_t> releases;  ///< of a comparison with the stamp: orders of the releases named
    std::int64_t at = 0;                ///< of bytes
    Bytes bytes;
    int anchor = -1;  ///< of version: the record whose version is asked
};

/// Meaning with its settings turned into stored numbers.
struct BoundMeaning {
    const schema::Meaning* meaning = nullptr;
    double least = 0, most = 0;               ///< range in values, or what the storage can hold
    double plays_least = 0, plays_most = 0;   ///< plays, or range
    bool bounded = false;                     ///< a range is stated
    double stored_low = 0, stored_high = 0;   ///< stored numbers of the two ends, in rising order
    dump::Stored default_stored;              ///< Kind::none where there is no default
    std::optional<double> neutral;            ///< as a value, for numbers and switches
    std::string neutral_meaning;              ///< of choices and references with choices; empty for none
    std::optional<std::string> neutral_text;  ///< of texts
    double span = 0;                          ///< of the range, in base units
    std::vector<int> targets;                 ///< of references to parameters: field for each choice, -1 for none
};

/// One of a field's ordered reads, bound.
struct BoundRead {
    int condition = -1;
    BoundMeaning meaning;
};

/// What else hangs on a field's value.
enum class Bearing : std::uint8_t {
    nothing,
    on_off,  ///< whether blocks are on
    more,    ///< what exists, which alternate or scene is used, what a control moves
};

/// One field, bound.
struct BoundField {
    const schema::Parameter* parameter = nullptr;
    const schema::Field* field = nullptr;
    int group = -1;       ///< index into Instances::groups()
    schema::Rules rules;  ///< parameter over release
    BoundMeaning plain;
    std::vector<std::pair<int, BoundMeaning>> varies;  ///< condition index and meaning; the first that holds counts
    std::vector<BoundRead> reads;     ///< parallel to Field::reads; the first whose condition holds is taken
    std::vector<int> conditions;      ///< own `when` and those of all enclosing groups, indices; all must hold
    std::vector<int> depends_on;      ///< fields that its conditions ask, each once
    int overrides = -1;               ///< the field that it overrides in its scene
    bool is_switch_of_block = false;  ///< some block's on-by
    bool counted_by_length = false;   ///< exists only as far as the body holds it
    Bearing bearing = Bearing::nothing;
};

/// What activity needs of one group instance.
struct BoundGroup {
    const schema::Group* group = nullptr;
    int parent = -1;
    int index = 1;                                              ///< own index, from 1
    int on_field = -1, selector_field = -1;                     ///< of blocks; of alternates
    int start_field = -1;                                       ///< of scenes
    int reference_field = -1, heel_field = -1, toe_field = -1;  ///< of controllers and switches
    std::vector<int> conditions;
    bool counted_by_length = false;
    int cost_field = -1;  ///< of Cost::by
    int scene = -1;       ///< the group instance of kind scene that it is or lies in
};

/// Keeps a pointer to the release, which must outlive it. Immutable after construction.
class CompiledRelease {
public:
    explicit CompiledRelease(const schema::Device& device, const schema::Release& release);
    CompiledRelease(const CompiledRelease&) = delete;
    CompiledRelease& operator=(const CompiledRelease&) = delete;

    [[nodiscard]] const schema::Device& device() const { return *device_; }
    [[nodiscard]] const schema::Release& release() const { return instances_.release(); }
    [[nodiscard]] const schema::Instances& instances() const { return instances_; }
    [[nodiscard]] const std::vector<BoundField>& fields() const { return fields_; }
    [[nodiscard]] const std::vector<BoundGroup>& groups() const { return groups_; }
    [[nodiscard]] const std::vector<BoundCondition>& conditions() const { return conditions_; }
    /// Field indices so that everything a field's conditions ask comes before it.
    [[nodiscard]] const std::vector<int>& order() const { return order_; }
    /// For each field the override fields that may replace it, with their scene's group instance.
    struct Override {
        int field = -1;
        int scene = -1;
    };
    [[nodiscard]] const std::vector<Override>& overrides_of(int field) const {
        return overrides_[static_cast<std::size_t>(field)];
    }
    /// Group instances of kind scene, in order.
    [[nodiscard]] const std::vector<int>& scenes() const { return scenes_; }
    /// Whether presets describe what controls bring in: any controller or switch group.
    [[nodiscard]] bool describes_controls() const { return describes_controls_; }

private:
    void bind_groups();
    void bind_fields();
    void find_bearings();
    void sort_fields();
    [[nodiscard]] int bind_condition(const schema::Condition& condition, int from);
    [[nodiscard]] BoundCondition bound(const schema::Condition& condition, int from);
    [[nodiscard]] int field_of(const std::string& id, int from) const;

    const schema::Device* device_;
    schema::Instances instances_;
    std::vector<BoundField> fields_;
    std::vector<BoundGroup> groups_;
    std::vector<BoundCondition> conditions_;
    std::vector<std::vector<Override>> overrides_;
    std::vector<int> order_;
    std::vector<int> scenes_;
    bool describes_controls_ = false;
};

/// The stored form of a setting for a parameter: through its choices or its scale, rounded to the nearest stored
/// number. Kind::none where it has none.
[[nodiscard]] dump::Stored stored_of_setting(const schema::Setting& setting, const schema::Parameter& parameter,
                                             const schema::Meaning& meaning);

/// Whether the parameter's numbers name things: choices, and references with a table.
[[nodiscard]] inline bool names_things(const schema::Parameter& parameter, const schema::Meaning& meaning) {
    return meaning.choices != nullptr &&
           (parameter.kind == schema::Kind::choice || parameter.kind == schema::Kind::reference);
}

}  // namespace downfit::compat
