// Loading one body on one release, on paper: repairs, acceptance, reading, loading rules.
#pragma once

#include <array>
#include <bitset>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "compat/compiled.h"
#include "dump/locate.h"

namespace downfit::compat {

/// What the loader did with one field. The order has no meaning.
enum class Act : std::uint8_t {
    nothing,  ///< took what it read
    clamped,
    reset,  ///< its default, or its first choice
    wrapped,
    kept_out,   ///< kept a number outside its range or without meaning
    rounded,    ///< to its step grid
    defaulted,  ///< nothing was there to read; its default
    held,       ///< nothing was there to read; what the unit held before, unknown
    cut,        ///< a text shortened, or with characters that it cannot show
    refused,    ///< the parameter (or its block) was refused
};

/// One field after loading. For numbers `value` is the value in the schema's unit; for choices `choice` (null: no
/// meaning).
struct Loaded {
    bool exists = false;    ///< all its conditions hold
    bool in_image = false;  ///< something was there to read
    bool known = true;      ///< its number has a meaning there (false: unknown choice, whatever was done about it)
    Act act = Act::nothing;
    const BoundMeaning* meaning = nullptr;
    std::int64_t record = -1;    ///< where the value of its record starts in the body, which its places count from; -1:
                                 ///< from the body's start
    std::size_t read_index = 0;  ///< which place was read: index into Field::reads, or their number for the plain place
    dump::Stored read;           ///< as it stood in the body
    dump::Stored stored;         ///< as the release has it after loading
    double value = 0;
    const schema::Choice* choice = nullptr;
    bool assumed = false;  ///< of Act::held: what was held is one of the values that are tried

    /// What the unit held before stands here, and nothing is assumed about it.
    [[nodiscard]] bool unknown() const { return act == Act::held && !assumed; }
};

/// What a unit held before, for the fields (by index) that are left as they were.
using HeldValues = std::map<int, dump::Stored>;

/// For rules that nobody stated: what is assumed, and which were asked. One assumption holds for all parameters.
struct Assumptions {
    std::array<std::optional<schema::Action>, schema::rule_count> actions{};
    /// In place of whatever is stated, for every parameter: what would be if the schema said so.
    std::array<std::optional<schema::Action>, schema::rule_count> instead{};
    std::map<std::string, std::string> facts;  ///< facts of the unit that are known or assumed
    HeldValues held_saved, held_loading;       ///< on N, on T
    std::vector<std::string> held;             ///< the same for people: "1.0 held echo.on at On"
};
using AskedRules = std::bitset<schema::rule_count>;

/// A preset after loading.
struct LoadedPreset {
    std::optional<schema::Refuses> refused;  ///< preset or dump: will not load; `fields` is empty then
    std::string refusal;                     ///< why, one sentence
    std::vector<Loaded> fields;              ///< parallel to CompiledRelease::fields()
    AskedRules asked;  ///< rules that were needed, unstated and not assumed (their first possibility was taken)
    std::vector<std::string> asked_facts;  ///< facts that were needed and not known
    std::vector<std::string> repairs;      ///< what was repaired, for the report
    std::size_t skipped_records = 0;       ///< records that the release does not know
    std::size_t skipped_values = 0;        ///< the same of values by name
    bool any_unknown = false;              ///< a field that exists is Loaded::unknown()
};

/// What is loaded.
struct Image {
    ByteView body;
    std::size_t layout = 0;
    std::optional<std::size_t> stamp_release;  ///< order of the release that saved it, where known
    int slot = -1;                             ///< as shown, -1 where unknown
    ByteView settings;                         ///< body of the unit's settings dump; empty where none is known

    dump::NamedBody* named = nullptr;        ///< the body by name, where it was read already: then it is not read again
    const dump::Located* located = nullptr;  ///< set while loading, for conditions on versions; callers leave it
    /// What the release wrote out itself, as it had it: read without repairs and rules; what is left out is at its
    /// default.
    bool as_it_stands = false;
};

/// Loads; `held` says what the unit held before, as far as that is assumed. Pure: the same arguments give the same
/// result; nothing is kept but in Image::named.
[[nodiscard]] LoadedPreset load(const CompiledRelease& release, const Image& image, const Assumptions& assumptions,
                                const HeldValues& held = {});

/// Evaluates a bound condition over loaded fields. A fact that is not known counts as holding and is noted in
/// `asked_facts` where given.
[[nodiscard]] bool holds(const BoundCondition& condition, const CompiledRelease& release,
                         const std::vector<Loaded>& fields, const Image& image, const Assumptions& assumptions,
                         std::vector<std::string>* asked_facts);

/// The whole-number value of a switch: on or off, by the parameter's `on`.
[[nodiscard]] inline bool is_on(const BoundField& field, const Loaded& loaded) {
    return loaded.stored.whole == field.parameter->on;
}

/// The field that a reference to a parameter names, or -1.
[[nodiscard]] inline int target_of(const Loaded& loaded) {
    if (loaded.choice == nullptr || loaded.meaning->targets.empty()) return -1;
    const auto& choices = loaded.meaning->meaning->choices->choices;
    return loaded.meaning->targets[static_cast<std::size_t>(loaded.choice - choices.data())];
}

/// Sets value and choice from `stored` by the meaning.
void interpret(const BoundField& field, Loaded& loaded);

}  // namespace downfit::compat
