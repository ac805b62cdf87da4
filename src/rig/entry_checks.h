// The entries of a rig's dumps, each checked for a unit as `check` would check the dump that it is in.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "compat/check.h"
#include "compat/taken_along.h"
#include "rig/judge_rig.h"
#include "study/readers.h"

namespace downfit::rig {

/// What two checks must share to be done by one Checker.
struct Outfit {
    const schema::Device* device = nullptr;
    std::optional<std::size_t> owner;     ///< the unit whose assets and settings the presets were made with
    std::optional<std::size_t> saved_on;  ///< order of the release; of presets without a stamp
    std::string variant;                  ///< empty: not known

    auto operator<=>(const Outfit&) const = default;  // NOLINT(modernize-use-nullptr): no pointer is there
};

/// Checks entries on all releases of their device. Compiles each device once for each outfit, when first needed; so not
/// for several threads at once. Material and rulings must outlive it.
class EntryChecks {
public:
    EntryChecks(const Material& material, const Rulings& rulings);

    /// How presets of one of the rig's dumps (index `from`) are checked for a unit of the same device.
    [[nodiscard]] Outfit outfit_of(std::size_t from, std::size_t unit) const;

    /// Checks an entry of the dump, with fingerprints where something may be accepted, as compat::check_dump does; what
    /// another preset of the dump takes along is refused here too: units are sent whole dumps.
    [[nodiscard]] compat::PresetCheck check(const dump::Dump& dump, const dump::Entry& entry, std::size_t from,
                                            const Outfit& outfit);

    /// What the unit holds, by its own dumps and those for all.
    [[nodiscard]] const Holdings& held(std::size_t unit) const { return held_[unit]; }
    /// What is held where a dump's presets come from: by the unit that it was read out of, else by every unit.
    [[nodiscard]] const Holdings& source(std::size_t from, const schema::Device& device);

    /// The device's releases, ready to read presets with.
    [[nodiscard]] study::Readers& readers(const schema::Device& device);

private:
    [[nodiscard]] std::vector<const dump::Dump*> dumps_of(std::size_t unit) const;
    [[nodiscard]] std::optional<std::size_t> owner_of(std::size_t from, const schema::Device& device) const;
    const Holdings& everywhere(const schema::Device& device);
    compat::Checker& checker(const Outfit& outfit);
    bool may_refuse_dumps(const schema::Device& device);
    const compat::TakenAlong& along(const dump::Dump& dump, const Outfit& outfit);
    const std::multiset<std::string>& names_in(const dump::Dump& dump, std::size_t from);
    std::string checked_name(const dump::Dump& dump, const dump::Entry& entry, std::size_t from);

    const Material& material_;
    const Rulings& rulings_;
    std::vector<Holdings> held_;  ///< one a unit
    std::map<const schema::Device*, Holdings> everywhere_;
    std::map<const schema::Device*, std::unique_ptr<study::Readers>> readers_;
    std::map<Outfit, std::unique_ptr<compat::Checker>> checkers_;
    std::map<const schema::Device*, bool> may_refuse_;  ///< whole dumps
    std::map<std::pair<const dump::Dump*, Outfit>, compat::TakenAlong> along_;
    std::map<const dump::Dump*, std::multiset<std::string>> names_;
};

}  // namespace downfit::rig
