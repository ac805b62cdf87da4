// A drafted release file, and what is said about it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/layout.h"
#include "schema/layout.h"
#include "study/draft.h"

namespace downfit::report {

struct DraftReport {
    std::string device, release;
    std::optional<schema::Stamp> stamp;    ///< to be written; none where the device file has it, or presets carry none
    std::vector<std::string> files;        ///< the dumps' names
    std::string out;                       ///< where the release file goes
    std::string layout;                    ///< its name
    std::optional<std::size_t> body_size;  ///< of the longest preset, where the device file says another
    study::Draft draft;
    std::size_t other_stamps = 0, damaged = 0, other_layouts = 0;  ///< presets that were left out
};

/// The release file, one parameter to a line; every one marked as observed.
[[nodiscard]] std::string draft_file(const DraftReport& report);

/// What was drafted, and what was left out.
[[nodiscard]] std::string draft_text(const DraftReport& report, const Style& style);

}  // namespace downfit::report
