#include "schema/faults.h"

#include <algorithm>

namespace downfit::schema {

namespace {

constexpr std::array<FaultRow, fault_count> fault_rows{{
    {Fault::overlap, "overlap", false, true, "two parameters in the same bits",
     "one of them reads what the other stored: a preset that is right is then told as damaged or displaced"},
    {Fault::range_beyond_place, "range-beyond-place", false, true, "a range wider than the stored code",
     "no stored number gives such a value: mostly a stored number written where a value belongs, or a wrong width, and "
     "then every value of it is told wrongly"},
    {Fault::code_beyond_place, "code-beyond-place", false, true, "a number that the place cannot hold",
     "no preset can hold that number, so a width, a place or a list is wrong"},
    {Fault::default_outside_range, "default-outside-range", false, true, "a default outside its range",
     "what a release puts in place of a missing or refused value would itself be out of range"},
    {Fault::neutral_outside_range, "neutral-outside-range", false, true, "a neutral that cannot be set",
     "no preset would ever count as neutral, so a lost parameter is told as heard where it is not"},
    {Fault::plays_inside_range, "plays-inside-range", false, true, "a knob that goes beyond what is played",
     "values that the knob allows would count as beyond what the engine takes"},
    {Fault::step_does_not_divide, "step-does-not-divide", false, true, "a step that does not fit",
     "the grid then has places that the release cannot hold, and values are told as rounded that are not"},
    {Fault::setting_off_step, "setting-off-step", false, true, "a default or neutral between two steps",
     "the release could not hold its own default: it would be told as rounded"},
    {Fault::code_twice, "code-twice", false, true, "one number with two meanings",
     "that stored number then means a value and \"none\" at once, and one of them is told where the other is meant"},
    {Fault::count_beyond, "count-beyond", false, true, "a number that counts beyond what there is",
     "a preset could name an instance that does not exist"},
    {Fault::rule_missing, "rule-missing", false, true, "a loading rule that nobody stated",
     "where it decides, Downfit can only tell the best and the worst: the preset is unsure"},
    {Fault::list_unused, "list-unused", false, true, "a choice list that nothing uses",
     "mostly its name is misspelt where it should be used, or a parameter is missing"},
    {Fault::asset_unused, "asset-unused", false, true, "an asset kind that nothing points at",
     "what presets lean on is then not followed: a preset without its asset is told as intact"},
    {Fault::gap, "gap", true, true, "bytes that no parameter covers",
     "what stands there is carried along and never compared; bytes that mean nothing may be left out"},
    {Fault::mark_unused, "mark-unused", false, false, "a mark that nothing needs",
     "it would hide the contradiction if it came back as a mistake"},
}};

constexpr bool in_order() {
    for (std::size_t i = 0; i < fault_count; ++i) {
        if (static_cast<std::size_t>(fault_rows[i].fault) != i) return false;
    }
    return true;
}
static_assert(in_order());

/// A key in a JSON Pointer, and what its being wrong means.
struct ErrorRow {
    std::string_view key, why;
};

constexpr std::array<ErrorRow, 9> errors{{
    {"renamed-from", "a rename that leads nowhere leaves one parameter lost and another new where there is only one"},
    {"extends", "what a release starts from decides all that it has; without it the release cannot be read at all"},
    {"when", "whether the parameter is there at all could not be decided for any preset"},
    {"choices", "one number would name two things, or one thing have two numbers"},
    {"choice-lists", "one number would name two things, or one thing have two numbers"},
    {"refers-to", "presets would point at something that nobody can look up"},
    {"at", "another value than the device's would be read there"},
    {"layouts", "dumps could not be taken apart as the device makes them"},
    {"stamp", "the release that saved a preset could not be told"},
}};

bool has_key(std::string_view pointer, std::string_view key) {
    for (std::size_t at = pointer.find(key); at != std::string_view::npos; at = pointer.find(key, at + 1)) {
        const std::size_t end = at + key.size();
        if (at > 0 && pointer[at - 1] == '/' && (end == pointer.size() || pointer[end] == '/')) return true;
    }
    return false;
}

}  // namespace

const std::array<FaultRow, fault_count>& fault_table() {
    return fault_rows;
}

const FaultRow& row_of(Fault fault) {
    return fault_rows[static_cast<std::size_t>(fault)];
}

std::optional<Fault> find_fault(std::string_view name) {
    const auto at = std::ranges::find(fault_rows, name, &FaultRow::name);
    if (at == fault_rows.end()) return std::nullopt;
    return at->fault;
}

std::vector<std::string_view> markable_faults() {
    std::vector<std::string_view> names;
    for (const FaultRow& row : fault_rows) {
        if (row.may_be_marked) names.push_back(row.name);
    }
    return names;
}

std::string_view why_of_error(const Problem& error) {
    const auto* place = std::get_if<TextPlace>(&error.place);
    const std::string pointer = place ? place->pointer : std::string();
    const bool of_conditions = error.what.find("conditions go in circles") != std::string::npos;
    for (const ErrorRow& row : errors) {
        if (has_key(pointer, row.key) || (of_conditions && row.key == "when")) return row.why;
    }
    return "as it stands the file cannot be used, and no preset can be judged by it";
}

}  // namespace downfit::schema
