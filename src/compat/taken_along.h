// Refusals that take the whole dump along: a release may refuse every preset of a dump for the sake of one.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "compat/check.h"

namespace downfit::compat {

/// Whether some release of the device says of something that its refusal takes the dump (`"refuses": "dump"`). Where
/// none does, no preset is taken along.
[[nodiscard]] bool may_refuse_dumps(const schema::Device& device);

/// For each target the preset of one dump whose refusal takes the others along, or may.
class TakenAlong {
public:
    /// Notes a preset of the dump, as checked by itself. To be called for all of them, in file order, by the same
    /// targets.
    void note(const PresetCheck& preset);

    /// What becomes of a preset that was checked by itself: on targets that surely refuse the dump it is refused and
    /// has no findings; where they may, it is undecided; the reason names the slot of the first preset that takes the
    /// dump. Finds its floors again, where something changes and they are asked for.
    void apply(const Checker& checker, PresetCheck& preset) const;

private:
    struct Taker {
        bool surely;
        int slot;  ///< as shown
        std::string reason;
    };

    static void take(const Taker& taker, TargetCheck& check);

    std::vector<std::optional<Taker>> takers_;  ///< one a target
};

}  // namespace downfit::compat
