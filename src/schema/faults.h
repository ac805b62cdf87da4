// The catalogue of what `schema proof` looks for: one row for each fault. Reader, proof, reports and tests read it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "base/problem.h"

namespace downfit::schema {

/// A fault of schema files that load all the same. The order is the order of `fault_table`.
enum class Fault : std::uint8_t {
    overlap,
    range_beyond_place,
    code_beyond_place,
    default_outside_range,
    neutral_outside_range,
    plays_inside_range,
    step_does_not_divide,
    setting_off_step,
    code_twice,
    count_beyond,
    rule_missing,
    list_unused,
    asset_unused,
    gap,
    mark_unused,
};
inline constexpr std::size_t fault_count = 15;

/// One row of the catalogue.
struct FaultRow {
    Fault fault;
    std::string_view name;  ///< as written under "true-to-device" and in reports
    bool note;              ///< told, but no problem
    bool may_be_marked;     ///< as true to the device
    std::string_view title;
    std::string_view why;  ///< why it matters, one sentence without a full stop
};

/// One row for each fault, in the order of the enum.
[[nodiscard]] const std::array<FaultRow, fault_count>& fault_table();
[[nodiscard]] const FaultRow& row_of(Fault fault);
/// The fault with that name, or nullopt.
[[nodiscard]] std::optional<Fault> find_fault(std::string_view name);
/// The names of those that may be marked.
[[nodiscard]] std::vector<std::string_view> markable_faults();

/// Why an error of loading matters, by its place and words.
[[nodiscard]] std::string_view why_of_error(const Problem& error);

}  // namespace downfit::schema
