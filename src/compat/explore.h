// Exploring what unstated rules may do: one loading for each combination of possibilities that matters, then best and
// worst.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "compat/judge.h"

namespace downfit::compat {

/// One combination, loaded and judged.
struct Run {
    Assumptions assumptions;        ///< of T; the facts are those of both
    Assumptions saved_assumptions;  ///< of N: what a release does about a rule, another need not do
    LoadedPreset saved, loading;
    std::vector<Judgement> judgements;  ///< one for each link; empty where either side refused
    std::vector<int> lost_protection;   ///< group instances of N
    std::vector<std::string> limited;   ///< group instances of T beyond its variant's limits
    double cost = 0;                    ///< of T's processing budget

    [[nodiscard]] bool judged() const { return !judgements.empty(); }
    [[nodiscard]] Weight best() const;
    [[nodiscard]] Weight worst() const;
};

struct Exploration {
    std::vector<Run> runs;  ///< at least one
    AskedRules asked;       ///< unstated rules that were needed anywhere
    bool complete = true;   ///< false: more than limits::most_runs combinations, the rest was not tried
};

/// Loads and judges under every combination of possibilities of the rules that are needed and not stated, on N and on T
/// apart (unless they are the same release), and of facts that are needed and not known. Within one release a
/// possibility holds for all parameters.
[[nodiscard]] Exploration explore(const ReleasePair& pair, const Image& image,
                                  const std::map<std::string, std::string>& facts, const Hearing& hearing,
                                  const KnownAssets& assets);

/// The same where T loads another body than the one that N saved, written for it (ReleasePair::rewritten).
[[nodiscard]] Exploration explore(const ReleasePair& pair, const Image& saved, const Image& loading,
                                  const std::map<std::string, std::string>& facts, const Hearing& hearing,
                                  const KnownAssets& assets);

/// The same of two dumps: `saved` as N's side has it, `loading` as T's. Of a prediction `saved` is loaded by T's rules,
/// and what it then has is compared as it is, whatever was done about it; `loading` is taken as it stands.
[[nodiscard]] Exploration explore(const ReleasePair& pair, const Image& saved, const Image& loading, Bodies bodies,
                                  const std::map<std::string, std::string>& facts, const Hearing& hearing);

/// The runs of each combination of facts apart, by the facts.
[[nodiscard]] std::map<std::map<std::string, std::string>, Exploration> split_by_facts(Exploration exploration);

/// "out-of-range: clamp, off-step: keep": what a run assumed of T, for reports. What it assumed of N stands before it:
/// "2.00 with out-of-range: keep; ".
[[nodiscard]] std::string assumption_text(const Run& run, const ReleasePair& pair);

}  // namespace downfit::compat
