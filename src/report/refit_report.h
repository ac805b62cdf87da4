// What a report on `refit` is made from, as text and as JSON.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "refit/refit.h"
#include "report/check_text.h"
#include "report/layout.h"

namespace downfit::report {

/// The version of the form of the JSON report.
inline constexpr std::string_view refit_format = "downfit refit 1";

/// A substitute that holds for the release.
struct SubstituteUse {
    std::string parameter, lost, instead, reason;
    std::size_t presets = 0;  ///< in so many it was put
};

/// Everything that a report on `refit` tells.
struct RefitReport {
    CheckReport check;                     ///< what still differs: the new file on the target beside the original
    std::vector<refit::Refitted> presets;  ///< every preset that is not an empty slot, parallel to `check.presets`
    std::string source;                    ///< the file that was read
    std::string out;                       ///< the file that was written; empty: none was
    std::string digest;                    ///< its SHA-256, hex
    std::size_t bytes = 0;                 ///< its length
    std::string substitutes;               ///< the file of substitutes; empty for none
    std::string substitutes_digest;        ///< its SHA-256, hex
    std::vector<SubstituteUse> uses;       ///< of its substitutes
    std::vector<std::string> older;        ///< the files of older copies
    std::vector<std::string> without;      ///< those of them that hold no preset of this kind
};

[[nodiscard]] std::string refit_text(const RefitReport& report, Extent extent, const Style& style);
[[nodiscard]] std::string refit_json(const RefitReport& report);

}  // namespace downfit::report
