// What presets lean on outside themselves (impulse responses and the like), and what a unit holds of it.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "compat/check.h"
#include "dump/dump.h"

namespace downfit::rig {

/// Something of an asset kind that a preset points at: by number or by name.
struct AssetUse {
    std::string kind;   ///< "impulse-response"
    std::string title;  ///< for people
    int slot = -1;      ///< as shown; -1 where it is named
    std::string name;   ///< where it is named, else empty

    auto operator<=>(const AssetUse&) const = default;
};

/// What a preset points at, read by the release that saved it; each once, sorted. Blocks that are off count as well.
[[nodiscard]] std::vector<AssetUse> assets_of(const schema::Device& device, const schema::Instances& instances,
                                              const dump::Entry& entry, std::size_t release);

/// What a unit holds, as far as dumps of it and the device file tell.
struct Holdings {
    struct Kind {
        std::map<int, std::string> slots;  ///< filled ones, as shown, with the name or an empty text
    };
    std::map<std::string, Kind> kinds;  ///< of which there are dumps; others are not known
    Bytes settings;                     ///< body of its settings; empty where not known

    [[nodiscard]] compat::KnownAssets known() const;
};

/// What the dumps, all of that device, hold together; where two hold the same, the earlier counts.
[[nodiscard]] Holdings holdings_of(const schema::Device& device, const std::vector<const dump::Dump*>& dumps);

/// How a use stands on a unit.
enum class Held : std::uint8_t { there, other, missing, unknown };

/// `other`: that slot holds something of another name than it does where the preset comes from, `there_name` then.
struct Standing {
    Held held = Held::unknown;
    std::string meant, there;  ///< names, empty where not known
};
[[nodiscard]] Standing standing_of(const AssetUse& use, const Holdings& source, const Holdings& unit);

}  // namespace downfit::rig
