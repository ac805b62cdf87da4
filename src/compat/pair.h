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

/// A field of N by one of its places (index into Field::reads, their number for the plain place).
struct PlacedField {
    int field = -1;
    std::size_t place = 0;
};

/// What N keeps in the bits that T reads at one of the places of its field.
struct Underneath {
    std::vector<PlacedField> others;      ///< other fields of N
    std::vector<std::size_t> own_places;  ///< places of the linked field of N
};

/// One parameter of N and its partner on T, or one without partner.
struct Link {
    int saved = -1;    ///< field of N, -1: only on T
    int loading = -1;  ///< field of T, -1: only on N
    std::vector<Underneath>
        under;  ///< one for each place of T's field: its reads, then the plain one; empty without T's
    /// The two releases do not take it for the same thing: it says on one of them, and not on the other, whether a
    /// group is on, which alternate is used or which scene a preset starts in …
    bool other_state = false;
    /// … or what a control moves, or it overrides another parameter.
    bool other_target = false;
};

/// What lies between the two releases for one model.
struct Revoicing {
    Weight weight = Weight::slight;
    std::optional<double> level_change_db;  ///< T minus N
};

/// Keeps references to both releases, which must outlive it. Immutable.
class ReleasePair {
public:
    /// `rewritten`: what T loads was written for it, so that nothing of N lies under its places.
    ReleasePair(const CompiledRelease& saved, const CompiledRelease& loading, const schema::Device& device,
                bool rewritten = false);

    [[nodiscard]] const CompiledRelease& saved() const { return saved_; }
    [[nodiscard]] const CompiledRelease& loading() const { return loading_; }
    /// T does not load the body that N saved, but one that was written for T.
    [[nodiscard]] bool rewritten() const { return rewritten_; }
    /// One for each field of N, in its order, then those that are only on T, in its order.
    [[nodiscard]] const std::vector<Link>& links() const { return links_; }
    /// The revoicing of a model of N's parameter (by Parameter::meaning and Choice::meaning), or nullptr.
    [[nodiscard]] const Revoicing* revoicing(const std::string& parameter, const std::string& model) const;
    /// For each group instance of N whether T has it, and the other way round.
    [[nodiscard]] const std::vector<bool>& saved_group_on_loading() const { return saved_group_on_loading_; }
    [[nodiscard]] const std::vector<bool>& loading_group_on_saved() const { return loading_group_on_saved_; }

private:
    void link_fields();
    void find_other_uses();
    void find_revoicings(const schema::Device& device);

    const CompiledRelease& saved_;
    const CompiledRelease& loading_;
    bool rewritten_;
    std::vector<Link> links_;
    std::map<std::pair<std::string, std::string>, Revoicing> revoicings_;
    std::vector<bool> saved_group_on_loading_, loading_group_on_saved_;
};

}  // namespace downfit::compat
