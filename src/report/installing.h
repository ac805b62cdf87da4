// What the release files say of installing a release: which way back is closed, and what is erased or converted.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// A release that saved presets and from which a unit may not go back to a target: its `returns-to` is later.
struct ClosedWay {
    std::size_t from = 0;    ///< order of the release that the unit would run
    std::size_t oldest = 0;  ///< order of the oldest release that it may go back to
};

/// What is stated of installing one target.
struct Installing {
    std::size_t target = 0;           ///< index into CheckReport::targets
    std::vector<ClosedWay> closed;    ///< oldest release first
    std::vector<std::string> erases;  ///< sentences of its release file
};

/// Of every target of which anything is stated, in the order of the call.
[[nodiscard]] std::vector<Installing> installing(const CheckReport& report);

/// One sentence for each release that is the oldest to go back to: for the summary, because nothing else matters then.
void append_closed_ways(std::string& out, const CheckReport& report, const Style& style);

/// What installing each target erases or converts, as notes.
void append_erased(std::string& out, const CheckReport& report, const Style& style);

}  // namespace downfit::report
