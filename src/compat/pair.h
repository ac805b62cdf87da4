// A pair of releases (N saved, T loads), linked by meaning and by place. Compiled once for every two releases.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "compat/compiled.h"
#include "compat/outcome.h"

namespace downfit::compat {

/// One parameter of N and its partner on T, or one without partner.
struct Link {
    int saved = -1;               ///< field of N, -1: only on T
    int loading = -1;             ///< field of T, -1: only on N
    std::vector<int> underneath;  ///< other fields of N that keep something in the bits that T's field reads
    bool apart = false;           ///< linked, but T's field reads none of the bits of N's
};

/// What lies between the two releases for one model.
struct Revoicing {
    Weight weight = Weight::slight;
    std::optional<double> level_change_db;  ///< T minus N
    std::string release;                    ///< the newest release between that changed it
    std::string note;
};

/// Keeps references to both releases, which must outlive it. Immutable.
class ReleasePair {
public:
    ReleasePair(const CompiledRelease& saved, const CompiledRelease& loading, const schema::Device& device);

    [[nodiscard]] const CompiledRelease& saved() const { return saved_; }
    [[nodiscard]] const CompiledRelease& loading() const { return loading_; }
    /// One for each field of N, in its order, then those that are only on T, in its order.
    [[nodiscard]] const std::vector<Link>& links() const { return links_; }
    /// The revoicing of a model of N's parameter (by Parameter::meaning and Choice::meaning), or nullptr.
    [[nodiscard]] const Revoicing* revoicing(const std::string& parameter, const std::string& model) const;
    /// For each group instance of N whether T has it, and the other way round.
    [[nodiscard]] const std::vector<bool>& saved_group_on_loading() const { return saved_group_on_loading_; }
    [[nodiscard]] const std::vector<bool>& loading_group_on_saved() const { return loading_group_on_saved_; }

private:
    void link_fields();
    void find_revoicings(const schema::Device& device);

    const CompiledRelease& saved_;
    const CompiledRelease& loading_;
    std::vector<Link> links_;
    std::map<std::pair<std::string, std::string>, Revoicing> revoicings_;
    std::vector<bool> saved_group_on_loading_, loading_group_on_saved_;
};

}  // namespace downfit::compat
