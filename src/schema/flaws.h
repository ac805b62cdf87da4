// What the parts of proofing share: the release at hand, and where flaws go. For the sources of schema/ only.
#pragma once

#include <map>
#include <set>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "schema/load_parts.h"
#include "schema/marks.h"
#include "schema/proof.h"

namespace downfit::schema {

/// A release being proofed, whole or as one layout stores it.
struct Proofed {
    const Device& device;
    const Release& release;
    const RawRelease& raw;
    const Release* whole = nullptr;  ///< where `release` is that of one layout: the release itself
    std::string layout;              ///< its name then; else empty

    /// The node of a parameter or group; null where there is none.
    [[nodiscard]] const Node* parameter(const std::string& id) const;
    [[nodiscard]] const Node* group(const std::string& path) const;
    /// Whether a layout (index) stores things as `release` has them.
    [[nodiscard]] bool stores(std::size_t layout) const;
    /// " in layout "export"" where a parameter stands otherwise there than elsewhere; else empty.
    [[nodiscard]] std::string in_layout(const std::string& id) const;
};

/// Collects flaws: each once, with the mark that applies to it.
class Flaws {
public:
    /// Adds a flaw of a release. Its mark is looked for in the parameters and groups that it is about, then in the
    /// release.
    void add(const Proofed& at, Flaw flaw);
    /// Adds a flaw of the whole device; the device file's marks apply.
    void add(const Node& device, Flaw flaw);

    /// Remembers the marks of a release, to tell those that nothing needed.
    void see_marks(const Proofed& at);
    void see_marks(const Node* marks);

    /// All flaws, with marks that nothing needed among them.
    [[nodiscard]] std::vector<Flaw> take();

private:
    using Spot = std::tuple<std::string, std::size_t, std::size_t>;

    void put(Flaw flaw, const std::string& subject, const std::optional<Mark>& mark);
    static Spot spot_of(const TextPlace& place);

    std::vector<Flaw> flaws_;
    std::set<std::tuple<Fault, Spot, std::string, bool>> told_;
    std::map<Spot, std::pair<TextPlace, std::string>> marks_;  // with the fault's name
    std::set<Spot> used_;
};

/// The place of one of the members of `node`: of those that are there, the one that stands in the file of the release
/// at hand; else the first; else `node` itself.
[[nodiscard]] TextPlace place_of(const Proofed& at, const Node& node, const std::vector<std::string_view>& keys);

/// Looks at what parameters may be: ranges, defaults, steps, numbers. Of a release as one layout stores it: only
/// whether what stands there otherwise holds what it must.
void proof_values(const Proofed& at, Flaws& flaws);

/// Looks at where parameters stand: overlaps and gaps. Remembers the gaps of earlier releases.
class StorageProof {
public:
    /// The layouts that store things as `at` has them.
    void look_at(const Proofed& at, Flaws& flaws);

private:
    std::map<std::string, std::set<std::size_t>> told_;  // by layout: bytes
};

/// Looks at what belongs to no single release: rules that nobody states, lists and assets that nothing uses. `stored`:
/// the same releases as single layouts store them, where that differs.
void proof_whole(const std::vector<Proofed>& releases, const std::vector<Proofed>& stored, const Node& device,
                 Flaws& flaws);

/// The least and the most whole number that a place can hold; nothing for texts and floats.
struct Reach {
    double least = 0, most = 0;
};
[[nodiscard]] std::optional<Reach> reach_of(const Storage& storage);

/// Whether scales, ranges and steps make sense of a parameter's values: a number, or a reference by number to slots.
[[nodiscard]] bool has_values(const Parameter& parameter, const Meaning& meaning);

/// The least and the most value of a place: what its scale makes of the least and the most stored number.
struct Span {
    double least = 0, most = 0;
};
[[nodiscard]] std::optional<Span> values_of(const Storage& storage, const Meaning& meaning);

}  // namespace downfit::schema
