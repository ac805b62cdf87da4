// Names for what is drafted by name: as release files want them, made of those that stand in the dump.
//
// Internal to study/.
#pragma once

#include <set>
#include <string>
#include <string_view>
#include <vector>

namespace downfit::study {

/// Gives each thing of one group a name of its own.
class NamesInUse {
public:
    /// "lowCut" becomes "low-cut"; what is taken already gets a number, what has no letter or digit is "value".
    [[nodiscard]] std::string take(std::string_view name);

private:
    std::set<std::string> taken_;
};

/// One step of a JSON Pointer, with its slash.
[[nodiscard]] std::string pointer_step(std::string_view key);

[[nodiscard]] bool has_letter(std::string_view text);

/// Whether texts only number things: 1, 2; A, B; amp-1, amp-2; amp-a, amp-b.
[[nodiscard]] bool only_numbered(const std::vector<std::string>& texts);

}  // namespace downfit::study
