// The library and the second loader side by side on one device and many presets.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "second/ear.h"
#include "second/generate.h"

namespace downfit::testing::second {

struct Disagreement {
    int preset = 0;  ///< number of the body, -1 where the device itself was not taken
    std::string text;
};

/// How much was compared.
struct Tally {
    std::size_t presets = 0, parameters = 0, unsure = 0;
    std::map<std::string, std::size_t> verdicts, outcomes, kinds;
};

/// Where the two differ first; nothing where they agree. At most 120 bodies.
[[nodiscard]] std::optional<Disagreement> compare(const Scene& scene, const std::vector<Bits>& bodies, Tally& tally);

/// The dump that holds one body in each slot from 0.
[[nodiscard]] Bits dump_of(const std::string& saved, const std::vector<Bits>& bodies);

/// Writes a case into a new folder, and reads one back.
void write_case(const std::filesystem::path& folder, const Scene& scene, const Bits& body, const std::string& text);
[[nodiscard]] std::pair<Scene, Bits> read_case_folder(const std::filesystem::path& folder);

}  // namespace downfit::testing::second
