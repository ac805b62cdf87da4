#include "study/change.h"

#include <array>

namespace downfit::study {

namespace {

constexpr std::array<KindRow, kind_count> change_rows{{
    {ChangeKind::group_added, "group-added", "new"},
    {ChangeKind::group_removed, "group-removed", "gone:"},
    {ChangeKind::group_renamed, "group-renamed", "renamed:"},
    {ChangeKind::group_count, "group-count", "number of"},
    {ChangeKind::group_place, "group-place", "place of"},
    {ChangeKind::group_kind, "group-kind", "kind of"},
    {ChangeKind::group_condition, "group-condition", "condition of"},
    {ChangeKind::group_control, "group-control", "what controls"},
    {ChangeKind::group_version, "group-version", "newest version of"},
    {ChangeKind::group_cost, "group-cost", "processing cost of"},
    {ChangeKind::parameter_added, "parameter-added", "new"},
    {ChangeKind::parameter_removed, "parameter-removed", "gone:"},
    {ChangeKind::parameter_renamed, "parameter-renamed", "renamed:"},
    {ChangeKind::place, "place", "place of"},
    {ChangeKind::width, "width", "stored width of"},
    {ChangeKind::written, "written", "stored texts of"},
    {ChangeKind::list_count, "list-count", "number of values of"},
    {ChangeKind::reads, "reads", "older places read for"},
    {ChangeKind::value_kind, "kind", "kind of"},
    {ChangeKind::range, "range", "range of"},
    {ChangeKind::plays, "plays", "what is played of"},
    {ChangeKind::step, "step", "step of"},
    {ChangeKind::scale, "scale", "scale of"},
    {ChangeKind::unit, "unit", "unit of"},
    {ChangeKind::default_value, "default", "default of"},
    {ChangeKind::neutral, "neutral", "neutral of"},
    {ChangeKind::role, "role", "role of"},
    {ChangeKind::choice_added, "choice-added", "new choice of"},
    {ChangeKind::choice_inserted, "choice-inserted", "inserted choice of"},
    {ChangeKind::choice_removed, "choice-removed", "choice gone from"},
    {ChangeKind::choice_renamed, "choice-renamed", "choice renamed in"},
    {ChangeKind::choices_moved, "choices-moved", "numbers of choices of"},
    {ChangeKind::condition, "condition", "condition of"},
    {ChangeKind::variation, "variation", "variation of"},
    {ChangeKind::scope, "scope", "scope of"},
    {ChangeKind::rule, "rule", "loading rule of"},
    {ChangeKind::code, "code", "special number of"},
    {ChangeKind::target, "target", "target of"},
    {ChangeKind::override_, "override", "what is overridden by"},
    {ChangeKind::body_size, "body-size", "size of layout"},
    {ChangeKind::framing, "framing", "framing of layout"},
    {ChangeKind::volatile_bytes, "volatile-bytes", "bytes that change by themselves in layout"},
    {ChangeKind::stamp, "stamp", "stamp of"},
    {ChangeKind::accepts, "accepts", "what is accepted by"},
    {ChangeKind::repairs, "repairs", "what is repaired by"},
    {ChangeKind::slots, "slots", "preset slots of"},
    {ChangeKind::asset, "asset", "slots of"},
    {ChangeKind::variant, "variant", "variant"},
    {ChangeKind::limit, "limit", "limit of"},
    {ChangeKind::budget, "budget", "processing budget of"},
    {ChangeKind::revoiced, "revoiced", "revoiced model of"},
    {ChangeKind::returns_to, "returns-to", "the way back from"},
    {ChangeKind::erases, "erases", "installing"},
}};

constexpr bool in_order() {
    for (std::size_t i = 0; i < kind_count; ++i) {
        if (static_cast<std::size_t>(change_rows[i].kind) != i) return false;
    }
    return true;
}
static_assert(in_order(), "one row for each kind, in the order of the enum");

using compat::Outcome;
constexpr std::array<std::optional<Outcome>, effect_count> outcomes{
    std::nullopt,      Outcome::displaced, Outcome::swapped, Outcome::rescaled, Outcome::woken,  Outcome::out_of_range,
    Outcome::unfilled, Outcome::lost,      Outcome::reset,   Outcome::clamped,  Outcome::unsure, Outcome::cut,
    Outcome::rounded,  Outcome::revoiced,  Outcome::added,   std::nullopt};

}  // namespace

const KindRow& row_of(ChangeKind kind) {
    return change_rows[static_cast<std::size_t>(kind)];
}

std::optional<compat::Outcome> outcome_of(Effect effect) {
    return outcomes[static_cast<std::size_t>(effect)];
}

std::string_view effect_name(Effect effect) {
    if (const auto outcome = outcome_of(effect)) return compat::row_of(*outcome).name;
    return effect == Effect::refused ? "refused" : "nothing";
}

std::string_view effect_title(Effect effect) {
    if (const auto outcome = outcome_of(effect)) return compat::row_of(*outcome).title;
    return effect == Effect::refused ? "will not load there" : "does nothing to presets";
}

bool is_silent(Effect effect) {
    const auto outcome = outcome_of(effect);
    return outcome && compat::row_of(*outcome).silent;
}

}  // namespace downfit::study
