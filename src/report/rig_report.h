// A report on `rig`: which unit plays which song, what stands in the way, and which moves would help.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/check_report.h"
#include "report/layout.h"
#include "report/outline.h"
#include "rig/moves.h"

namespace downfit::report {

/// Everything that a report on `rig` tells. What it points at must outlive it.
struct RigReport {
    std::string version;
    const rig::Material* material = nullptr;
    const rig::RigCheck* check = nullptr;
    const rig::Moves* moves = nullptr;
    std::vector<InputFile> files;  ///< the dumps, each once, in the order of the rig file, then those of the call

    [[nodiscard]] const schema::Rig& rig() const { return *material->rig; }
    [[nodiscard]] const std::string& release(std::size_t unit, std::size_t order) const {
        return material->devices[unit]->releases[order].name;
    }
};

/// The report as an outline; text, Markdown and HTML are made of it.
[[nodiscard]] Outline rig_outline(const RigReport& report);

/// Its version; within one, keys are only added.
inline constexpr std::string_view rig_format = "downfit rig-report 1";
[[nodiscard]] std::string rig_json(const RigReport& report);

}  // namespace downfit::report
