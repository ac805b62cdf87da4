// What of a loaded preset sounds: "activity" of docs/loading.md, asked anew for every line.
#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "second/player.h"

namespace downfit::testing::second {

/// Activities are numbers here: dormant 0, standby 1, standby that a scene or control brings in 2, sounding 3.
enum : int { dormant = 0, standby = 1, assigned = 2, sounding = 3 };

/// A controller that moves a line: shares of its stored range.
struct Sweep {
    double heel = 0, toe = 1;
};

/// One loaded preset on one release.
class Stage {
public:
    Stage(const Manual& manual, const Sheet& sheet, const Played& played);

    [[nodiscard]] int activity_of(const std::string& line) const;
    [[nodiscard]] int activity_of_spot(const std::string& spot) const;
    [[nodiscard]] std::vector<Sweep> sweeps_of(const std::string& line) const;

private:
    using Scenes = std::vector<std::string>;  // names of scene spots; one empty name where there are no scenes

    [[nodiscard]] const Had& had(const std::string& line) const;
    [[nodiscard]] std::string target_of(const Spot& control) const;
    [[nodiscard]] bool is_idle(const Spot& control) const;
    [[nodiscard]] bool is_moved(const std::string& line) const;
    [[nodiscard]] double in_scene(const std::string& line, const std::string& scene) const;
    [[nodiscard]] const Had* overriding(const std::string& line, const std::string& scene) const;
    [[nodiscard]] bool is_met(const Spot& spot, const std::string& scene, bool& movable) const;
    [[nodiscard]] int heard_in(const std::string& spot, const Scenes& scenes) const;

    const Manual& manual_;
    const Sheet& sheet_;
    const Played& played_;
    Scenes scenes_;
    std::string start_;
    std::vector<std::pair<const Spot*, std::string>> controls_;                           // and what each moves
    std::map<std::pair<std::string, std::string>, std::vector<std::string>> overriding_;  // by target and scene
};

}  // namespace downfit::testing::second
