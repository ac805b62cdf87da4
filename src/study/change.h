// One change between two releases, and the catalogue of kinds. All texts are owned; nothing here refers to a device.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/problem.h"
#include "compat/outcome.h"

namespace downfit::study {

/// What changed. The order is the order of `kind_table`.
enum class ChangeKind : std::uint8_t {
    group_added,
    group_removed,
    group_renamed,
    group_count,
    group_place,
    group_kind,
    group_condition,
    group_control,
    group_version,
    group_cost,
    parameter_added,
    parameter_removed,
    parameter_renamed,
    place,
    width,
    written,
    list_count,
    reads,
    value_kind,
    range,
    plays,
    step,
    scale,
    unit,
    default_value,
    neutral,
    role,
    choice_added,
    choice_inserted,
    choice_removed,
    choice_renamed,
    choices_moved,
    condition,
    variation,
    scope,
    rule,
    code,
    target,
    override_,
    body_size,
    framing,
    volatile_bytes,
    stamp,
    accepts,
    repairs,
    slots,
    asset,
    variant,
    limit,
    budget,
    revoiced,
    returns_to,
    erases,
};
inline constexpr std::size_t kind_count = 53;

struct KindRow {
    ChangeKind kind;
    std::string_view name;   ///< in JSON
    std::string_view words;  ///< before the subject: "range of"
};
[[nodiscard]] const KindRow& row_of(ChangeKind kind);

/// Whether presets can tell of it. Which releases a unit goes back to, or its hardware takes, is no matter of theirs.
[[nodiscard]] constexpr bool touches_presets(ChangeKind kind) {
    return kind != ChangeKind::returns_to && kind != ChangeKind::erases && kind != ChangeKind::variant;
}

/// What a change does to presets that go one way. The order is from worst to nothing: what is refused, then what the
/// unit does not show, then the rest.
enum class Effect : std::uint8_t {
    refused,
    displaced,
    swapped,
    rescaled,
    woken,
    out_of_range,
    unfilled,
    lost,
    reset,
    clamped,
    unsure,
    cut,
    rounded,
    revoiced,
    added,
    nothing,
};
inline constexpr std::size_t effect_count = 16;

/// "swapped"; as the outcome is called, where there is one.
[[nodiscard]] std::string_view effect_name(Effect effect);
/// "the same number names something else": for headings.
[[nodiscard]] std::string_view effect_title(Effect effect);
/// The outcome that a check tells of it; none for refused and nothing.
[[nodiscard]] std::optional<compat::Outcome> outcome_of(Effect effect);
/// Whether the unit shows nothing of it.
[[nodiscard]] bool is_silent(Effect effect);

/// One way: what happens to presets, and to which.
struct Way {
    Effect effect = Effect::nothing;
    std::string words;  ///< "narrowed to 0.05..12 Hz; beyond it: held at the end"; may be empty
};

/// Which ends of a range are nearer there than where the preset was saved.
struct Ends {
    bool least = false, most = false;
};

/// One change. "Before" is the older release, "after" the newer.
struct Change {
    ChangeKind kind = ChangeKind::range;
    std::string key;                 ///< the same for the same change between any two releases
    std::string subject;             ///< id or path as the newer release calls it (the older, where only that has it)
    std::string subject_before;      ///< as the older release calls it, where that differs
    std::string where;               ///< "when delay.alternate.model is Slap", "in layout export"; empty: always
    std::string layout;              ///< where it is a matter of one layout: its name
    std::string before, after;       ///< what it was and is, in a few words; empty for none
    std::vector<std::string> holds;  ///< of a group: ids of what it brings or takes along; of choices: labels concerned
    std::vector<std::string> also;   ///< other parameters with the same choices
    std::vector<std::string> releases;  ///< that brought it, oldest first
    std::string suggestion;             ///< of a removal or an addition: what it may have been renamed to, or from
    Way back, forward;                  ///< newer to older, older to newer
    TextPlace place;                    ///< where the newer release's files say so, as far as known

    std::vector<std::string> touches;  ///< meanings of parameters whose outcomes may come from it
    std::vector<std::string> shifted;  ///< of choices: meanings of the labels whose numbers it concerns
    std::string group;                 ///< of group_count: meaning of the group
    Ends back_ends, forward_ends;      ///< of range
    int kept = 0;                      ///< of group_count and list_count: instances on both releases
};

/// The worse of two, in either way.
[[nodiscard]] inline Effect worst_of(const Change& change) {
    return change.back.effect < change.forward.effect ? change.back.effect : change.forward.effect;
}

}  // namespace downfit::study
