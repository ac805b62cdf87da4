// What was asked for on the command line: releases, slots, names.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/result.h"
#include "compat/check.h"
#include "schema/device.h"

namespace downfit::cli {

/// The order of the release called so; otherwise what may have been meant, and all there are.
[[nodiscard]] Result<std::size_t> find_release(const schema::Device& device, const std::string& name);

struct Targets {
    std::vector<std::size_t> releases;  ///< as asked, each once; of `all` oldest first
    bool all = false;
};

/// "2.10", "3.00,2.10" or "all".
[[nodiscard]] Result<Targets> find_targets(const schema::Device& device, const std::string& asked);

/// Makes a check one of units of that variant, with the facts that it has on any release, the newest release's first.
/// Tells where the device has no such variant.
[[nodiscard]] std::optional<Problem> take_variant(const schema::Device& device, const std::string& name,
                                                  compat::CheckOptions& options);

/// Slots and a part of a name; empty ones let everything through.
class Selection {
public:
    /// `slots` as "3", "1-8,12"; `name` is looked for anywhere, in any letter case.
    [[nodiscard]] static Result<Selection> parse(const std::string& slots, const std::string& name);

    [[nodiscard]] bool takes(int slot, const std::string& name) const;
    [[nodiscard]] bool empty() const { return slots_.empty() && name_.empty(); }

private:
    std::vector<std::pair<int, int>> slots_;
    std::string name_;
};

}  // namespace downfit::cli
