// Comparing two dumps, or two sets of them: which presets belong together, and what became of each pair.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "compat/likeness.h"
#include "compat/matching.h"
#include "schema/policy.h"

namespace downfit::compat {

/// The dumps of one side, and the body of the unit settings among them (empty without).
struct DumpSet {
    struct Part {
        const dump::Dump* dump = nullptr;
        ByteView file;
    };
    std::vector<Part> parts;
    ByteView settings;
};

/// What the second set is.
enum class ReadBack : std::uint8_t {
    none,    ///< another dump, whatever it is
    stored,  ///< read back out of a unit's memory: proves only that the bytes arrived
    loaded,  ///< read back of each preset after it was called up: proves how the unit loads it
};

/// What came of one pair, worst first.
enum class Alike : std::uint8_t { otherwise, only_first, only_second, undecided, damaged, near, same };
inline constexpr std::size_t alike_count = 7;
/// "different", "only-in-a", "only-in-b", "undecided", "damaged", "near", "same".
[[nodiscard]] std::string_view alike_name(Alike alike);

/// One preset of either set.
struct PresetIn {
    std::size_t part = 0;   ///< index into DumpSet::parts
    std::size_t entry = 0;  ///< index into Dump::entries
    int slot = -1;          ///< as shown, -1 without
    std::string name;
    std::string stamp;                  ///< as stored; empty for none
    std::vector<std::size_t> saved_on;  ///< releases that the stamp may mean, oldest first
    dump::SlotState state = dump::SlotState::filled;
};

struct ComparedPair {
    std::optional<PresetIn> first, second;
    Alike alike = Alike::undecided;
    Likeness likeness;                      ///< only where both are filled
    std::optional<TargetCheck> prediction;  ///< with ReadBack::loaded
    bool fails = false;                     ///< not within the policy

    /// What decides: the prediction where there is one, else whether they are the same sound.
    [[nodiscard]] const TargetCheck& told() const { return prediction ? *prediction : likeness.sound; }
};

struct CompareOptions {
    std::optional<MatchBy> match;  ///< nothing: as match_presets chooses
    ReadBack read_back = ReadBack::none;
    std::optional<std::size_t> release;   ///< of the unit that was read back after loading; nothing: the stamps say
    std::optional<std::size_t> saved_on;  ///< for presets without a stamp
    schema::FailsFrom fails = schema::FailsFrom::altered;
    bool exact = false;                                 ///< any value that differs fails, however little
    std::size_t most_findings = limits::most_findings;  ///< that are kept of all pairs together
    /// Which presets are wanted, by shown slot and name; empty: all. A pair counts where either is wanted.
    std::function<bool(int, const std::string&)> wanted;
};

/// A parameter for which one of the two ways in which presets are stored has no place.
struct NotInBoth {
    std::string release;
    std::vector<std::string> parameters;  ///< ids
};

struct Comparison {
    MatchBy by = MatchBy::slot;
    std::size_t other_names = 0, shared_names = 0;  ///< as in Matching
    std::vector<ComparedPair> pairs;                ///< the first set's in order, then what only the second has
    std::size_t left_out = 0;                       ///< pairs that were not wanted
    std::vector<RuleFault> rule_faults;             ///< indices of presets in them are of `pairs`
    std::vector<ValueFault> value_faults;
    std::vector<NotInBoth> not_in_both;
    std::optional<Problem> stopped;  ///< more findings than may be kept: the pairs from there on are missing

    [[nodiscard]] std::size_t count(Alike alike) const;
};

/// Compares two sets of dumps of the comparer's device.
[[nodiscard]] Comparison compare_dumps(Comparer& comparer, const DumpSet& first, const DumpSet& second,
                                       const CompareOptions& options);

}  // namespace downfit::compat
