// A small device and dumps of it in a folder of its own, for runs of the real program.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "support/run.h"
#include "support/temp_dir.h"

namespace downfit::testing {

/// schemas/wren/ with releases 1.0 and 1.1, and dumps as they are asked for.
class SmallRig {
public:
    SmallRig();

    /// Writes a dump given as hex and returns its name.
    std::string dump(const std::string& name, const std::string& hex) const;
    void write(const std::string& name, const std::string& text) const;
    [[nodiscard]] std::string read(const std::string& name) const;
    [[nodiscard]] std::filesystem::path path(const std::string& name) const { return folder_ / name; }

    /// Runs the program inside the folder.
    [[nodiscard]] Ran run(const std::vector<std::string>& arguments, const std::string& input = {}) const;

private:
    TempDir folder_;
};

/// Presets of the Wren as hex: slot, stamp, volume, mode.
inline constexpr const char* room_on_1_1 = "F0 7D 09 00 02 50 00 F7\n";   // the same on 1.0
inline constexpr const char* plate_on_1_1 = "F0 7D 09 01 02 50 01 F7\n";  // number 1 is Hall on 1.0
inline constexpr const char* hall_on_1_1 =
    "F0 7D 09 02 02 50 02 F7\n";  // 1.0 has no number 2, and no rule says what it does
inline constexpr const char* cut_short = "F0 7D 09 03 02 50\n";

/// Songs of a rig that play what is in slots 1 and 2 of the dump "a".
inline constexpr const char* room_song = R"({ "title": "Ebb", "presets": [ { "dump": "a", "slot": 1 } ] })";
inline constexpr const char* plate_song = R"({ "title": "Flood", "presets": [ { "dump": "a", "slot": 2 } ] })";

/// The text of a report up to the program's version, which digests follow.
[[nodiscard]] std::string without_digests(const std::string& output, const std::string& version = "- downfit ");

}  // namespace downfit::testing
