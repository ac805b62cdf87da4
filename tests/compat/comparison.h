// Case files of comparisons (tests/compat/comparisons/*.case): case files (compat/case_file.h) with, besides,
//
//     == compare A B [WORD …]       what comes of two sets of dumps, line by line (see comparison_text); a set is the
//                                   name of a dump, or several joined by "+"
//
// The words are `stored` or `loaded` (what B is read back from), `on=RELEASE`, `by=slot` or `by=name`,
// `saved-on=RELEASE`, `fails=near|severe|refused`, `exact`, `slots=N,N` (those that are wanted), `most=N` (findings),
// `a=HEX` and `b=HEX` (the unit's settings of either side), and `places` (told with each finding).
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "compat/case_file.h"

namespace downfit::testing {

/// A case file, and what it says of comparisons.
struct ComparisonFile {
    CaseFile file;
    std::vector<Section> comparisons;
};

/// Reads such a file under tests/. Throws as read_case does.
[[nodiscard]] ComparisonFile read_comparisons(const std::filesystem::path& path_in_tests);

/// What comes of one comparison: how presets were matched, then each pair:
///     SLOT NAME = SLOT NAME: RESULT[, fails][, same bytes][, N other bytes]
/// then, where both are there, `sound RELEASE RELEASE` with the lines of compact_text, `unsettled RULES`; the same as
/// `predicted`. At the end `rule …` and `value …` of what a unit contradicts, `without place …`, `stopped …`.
[[nodiscard]] std::string comparison_text(const CaseFile& file, const Section& comparison);

}  // namespace downfit::testing
