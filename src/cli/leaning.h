// What presets lean on outside themselves, and bytes in them that nobody explains: seen over whole dumps.
#pragma once

#include <optional>
#include <vector>

#include "cli/inputs.h"
#include "compat/check.h"
#include "report/check_report.h"

namespace downfit::cli {

/// The body of the unit settings dump among the inputs; empty where there is none, or where it is damaged.
[[nodiscard]] Bytes unit_settings(const std::vector<Input>& inputs);

/// For every asset kind of which a dump was given, the slots that are filled: those in the dumps, and those that the
/// device file says the factory fills, but for what the dumps show empty or damaged.
[[nodiscard]] compat::KnownAssets known_assets(const std::vector<Input>& inputs);

/// For every asset kind that is not in `known`, how many presets point at a slot of it.
[[nodiscard]] std::vector<report::Leaning> find_leaning(const std::vector<Input>& inputs,
                                                        const compat::KnownAssets& known,
                                                        const compat::CheckOptions& options, compat::Checker& checker);

/// For every release that saved presets of the dumps, how many bytes no parameter explains; `saved_on` is the release
/// of presets without a stamp. `downfit schema coverage` tells the same in full.
[[nodiscard]] std::vector<report::Unexplained> find_unexplained(const std::vector<Input>& inputs,
                                                                std::optional<std::size_t> saved_on);

}  // namespace downfit::cli
