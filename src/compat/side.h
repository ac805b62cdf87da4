// One side of a comparison (a field as N or T has it after loading), and how two sides differ.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>

#include "compat/hearing.h"
#include "compat/loader.h"
#include "compat/outcome.h"

namespace downfit::compat {

/// What the dumps given hold of one kind of asset: shown numbers of filled slots, and the names that stand there.
struct KnownAsset {
    std::set<int> slots;
    std::set<std::string> names;
};

/// By asset kind. A kind that is missing here is not known.
using KnownAssets = std::map<std::string, KnownAsset>;

/// What became of one link of a pair. `best` and `worst` differ only where the outcome is unsure.
struct Judgement {
    Outcome outcome = Outcome::kept;
    Weight best = Weight::none;
    Weight worst = Weight::none;
    Activity activity = Activity::dormant;  ///< the higher of both sides
    std::optional<CautionKind> caution;
    double rise_db = 0;          ///< with CautionKind::louder
    bool at_travel_end = false;  ///< only a controller's end differs
    bool other_use = false;      ///< the same value, which T does not take for the same thing
    bool put = false;            ///< T takes what was written for it: the difference was made before loading

    bool operator==(const Judgement&) const = default;
};

/// What kind of thing a field's number is, for comparing.
enum class Class : std::uint8_t { number, thing, asset, on_off, text, opaque };

/// A field of one release with what one loaded preset has there. A view: refers to the release and the preset.
struct Side {
    const CompiledRelease* release = nullptr;
    const BoundField* field = nullptr;
    const Loaded* loaded = nullptr;

    [[nodiscard]] bool exists() const { return loaded != nullptr && loaded->exists; }
    [[nodiscard]] const BoundMeaning& meaning() const { return *loaded->meaning; }
    [[nodiscard]] schema::Role role() const { return loaded->meaning->meaning->role; }
    [[nodiscard]] Class kind() const;
    /// An override that stands at "as in the preset itself".
    [[nodiscard]] bool as_base() const;
    /// A reference that points at nothing.
    [[nodiscard]] bool at_nothing() const;
    /// A reference that names its target by a text.
    [[nodiscard]] bool by_text() const;
    /// The key of the field that a reference to a parameter points at; empty for anything else.
    [[nodiscard]] std::string target_key() const;
    [[nodiscard]] Amount amount() const { return amount_of(loaded->value, loaded->meaning->meaning->unit); }
    /// A model, or a reference to an asset: losing it is severe.
    [[nodiscard]] bool is_model() const;
    /// Names, colours: never heard.
    [[nodiscard]] bool is_cosmetic() const { return role() == schema::Role::name || role() == schema::Role::cosmetic; }
};

/// A parameter for which the layout has no place.
[[nodiscard]] bool is_nowhere(const Side& side);

/// Whether both sides have the same value, compared as what they are stored as.
[[nodiscard]] bool same(const Side& n, const Side& t);

/// How a number change is heard, before activity counts. `n` gives role and range, `before` and `after` are values in
/// the two sides' units. Sets the louder and feedback cautions.
[[nodiscard]] Weight number_difference(const Side& n, const Amount& before, const Amount& after, const Hearing& hearing,
                                       Judgement& judgement);

/// How a difference between two existing sides is heard, before activity counts.
[[nodiscard]] Weight difference(const Side& n, const Side& t, const Hearing& hearing, Judgement& judgement);

/// How the loss (or the arrival, `on_loading`) of a field without partner is heard: against its neutral, before
/// activity counts.
[[nodiscard]] Weight difference_from_neutral(const Side& side, bool on_loading, const Hearing& hearing,
                                             Judgement& judgement);

/// The value at a share (0 to 1) of the knob's travel: of the stored range, rounded to a stored number for whole
/// numbers.
[[nodiscard]] double value_at_share(const Side& side, double share);

}  // namespace downfit::compat
