// What the laws of several files share: whole results as text, and counting what a law has seen.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "compat/check.h"

namespace downfit::testing {

/// Everything that a check of one preset on one target tells, in lines: equal texts are equal results.
[[nodiscard]] std::string told(const compat::TargetCheck& check);

/// The check on the release with that order; all empty where there is none.
[[nodiscard]] compat::TargetCheck check_on(compat::Checker& checker, const dump::Entry& entry, std::size_t target);

/// To check on these releases.
[[nodiscard]] compat::CheckOptions checked_on(std::vector<std::size_t> targets);

/// The verdict of a weight.
[[nodiscard]] compat::Verdict verdict_of(compat::Weight weight);

/// Counts what the cases of a law were, so that none holds only because nothing came up. Counts every property tried,
/// so ask for far fewer than are tried.
class Seen {
public:
    void count(const std::string& what, bool really = true) { counts_[what] += really ? 1 : 0; }
    [[nodiscard]] int operator[](const std::string& what) const {
        const auto at = counts_.find(what);
        return at == counts_.end() ? 0 : at->second;
    }
    /// "kept 812, lost 3": for messages.
    [[nodiscard]] std::string text() const;

private:
    std::map<std::string, int> counts_;
};

}  // namespace downfit::testing
