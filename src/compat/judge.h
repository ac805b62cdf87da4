// Judging: what became of each parameter, and how much of it anyone would hear. The rules in words: docs/loading.md.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "compat/activity.h"
#include "compat/hearing.h"
#include "compat/pair.h"
#include "compat/side.h"

namespace downfit::compat {

/// The existing field of N that keeps something where T reads this one, or nullptr.
[[nodiscard]] const PlacedField* displaced_by(const Link& link, const Side& loading, const LoadedPreset& saved);

/// The variant of the unit that facts name; empty for none.
[[nodiscard]] std::string variant_among(const std::map<std::string, std::string>& facts);

/// The release's variant of that name, or nullptr.
[[nodiscard]] const schema::Variant* variant_of(const schema::Release& release, const std::string& name);

/// What the two sides of a pair are.
enum class Bodies : std::uint8_t {
    one,         ///< T reads what N saved
    two,         ///< each has a dump of its own: no place of one lies under a place of the other
    prediction,  ///< the same, and N's side is what it was predicted to have after loading, T's what it showed
};

/// Judges one preset on one pair. Refers to everything it is given; lives for one preset.
class Judge {
public:
    Judge(const ReleasePair& pair, const LoadedPreset& saved, const LoadedPreset& loading, const Hearing& hearing,
          const KnownAssets& assets, std::string variant = {}, Bodies bodies = Bodies::one);

    [[nodiscard]] Judgement judge(const Link& link) const;

    /// Group instances of T that its variant cannot run at once with those before them.
    [[nodiscard]] std::vector<std::string> limited_groups() const;
    /// What the blocks of T that are on together cost of the processing budget: the most expensive scene.
    [[nodiscard]] double cost() const;

    /// Cabinets and limiters that sound on N and are gone or off on T, as group instances of N.
    [[nodiscard]] std::vector<int> lost_protection() const;

private:
    void find_beyond_limits();
    [[nodiscard]] bool beyond_limit(int field) const;
    void judge_both(const Link& link, const Side& n, const Side& t, Judgement& judgement) const;
    void judge_alone(const Link& link, const Side& side, bool on_loading, Judgement& judgement) const;
    void judge_travels(const Link& link, const Side& n, const Side& t, Judgement& judgement) const;
    void judge_revoicing(const Side& n, Judgement& judgement) const;
    void judge_use(const Link& link, const Side& n, const Side& t, Judgement& judgement) const;
    void judge_unsure(const Side& n, const Side& t, Judgement& judgement) const;
    [[nodiscard]] Outcome outcome_of(const Side& n, const Side& t) const;
    [[nodiscard]] bool unfilled(const Side& t) const;
    void finish(const Side& side, Judgement& judgement) const;

    const ReleasePair& pair_;
    const LoadedPreset& saved_;
    const LoadedPreset& loading_;
    const Hearing& hearing_;
    const KnownAssets& assets_;
    std::string variant_;
    Bodies bodies_;
    std::vector<bool> beyond_limit_;  // one a group instance of T; empty without limits
    ActivityMap saved_activity_;
    ActivityMap loading_activity_;
};

}  // namespace downfit::compat
