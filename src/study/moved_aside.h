// What moves along without meaning anything: checks, lengths, stamps, slots, counters.
//
// Internal to study/.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "dump/claims.h"
#include "study/moved.h"

namespace downfit::study {

/// An entry in its dump.
struct EntryIn {
    const dump::Dump& dump;
    const dump::Entry& entry;
};

/// What a byte that is no parameter's is.
[[nodiscard]] std::string aside_words(dump::Claim by);

/// Adds the captures, other than data, in which the entries' messages differ. Messages of the second dump whose index
/// is in `told` are left out, and put there: several presets may lie in one.
void add_moved_messages(const EntryIn& before, const EntryIn& after, std::set<std::size_t>& told,
                        std::vector<MovedAside>& aside);

}  // namespace downfit::study
