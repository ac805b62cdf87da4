// What stands in the cells of one kind of change: tests/coverage/changes/NAME.case, written by hand.
//
//     # What changed, in one line.
//     == release 1.0 [WAYS]             as in other case files; @3 is the place of a parameter: "at": 3 by position,
//                                       "tag": 3 by tag, "path": "/3" by name
//     == beside RULE [WAYS]             (optional) what else is stated where RULE is asked; "nothing" for no rule
//     == preset breaking 2.0 [WAYS]     a preset that the change touches: `@3 40 01` are bytes at a place; other lines
//                                       are hex of the whole body; `slot 7` is its stored slot.
//                                       By name `@3 40` is "3": 64, `@3 "ab"` a text, other lines are members in JSON
//     == preset clean 2.0 [WAYS]        a preset that it does not touch, or just not
//     == cell WAYS [RULE VALUE]         what must become of `breaking` on the other release, as in a check section
//     == held WAYS [RULE VALUE]         the same, in a case file elsewhere: `outcomes/lost.case breaking 1.0`
//     == check clean WAYS               what must become of another preset, whatever the rule says
//     == no-check WAYS                  why there is none that the change does not touch
//
// WAYS is one way or several with commas between; left out, all. In each cell only the stamp rules, `beside` and the
// cell's own rule are stated, so that any other rule that is asked for would show as undecided.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "coverage/axes.h"

namespace downfit::testing {

/// A section that holds for some ways; no ways means all.
struct ForWays {
    std::set<std::string> ways;
    std::string head;     ///< release, preset name or rule
    std::string release;  ///< of presets
    std::string text;

    [[nodiscard]] bool holds_for(const std::string& way) const { return ways.empty() || ways.contains(way); }
};

/// The content of one or more cells.
struct CellEntry {
    std::set<std::string> ways;
    std::string rule, value;
    std::string expected;                       ///< lines; empty where it is held elsewhere
    std::string held_file, held_dump, held_on;  ///< where held elsewhere
};

struct ChangeFile {
    std::string name;
    std::string about;  ///< the comment at its top
    std::vector<ForWays> releases, beside, presets, checks, no_checks;
    std::vector<CellEntry> entries;

    /// The entries of a cell: exactly one where all is well.
    [[nodiscard]] std::vector<const CellEntry*> entries_of(const Cell& cell) const;
    /// The preset of that name for a way, or nullptr.
    [[nodiscard]] const ForWays* preset(const std::string& preset_name, const std::string& way) const;
    /// The release that a preset is loaded on: the other one.
    [[nodiscard]] std::string target_of(const ForWays& preset) const;
};

/// Reads a change file. Throws std::exception, saying what makes no sense.
[[nodiscard]] ChangeFile read_change(const std::string& name, const std::string& text);

/// The case text (compat/case_file.h) that sets up a cell: a device with the cell's rule, both releases, all presets.
[[nodiscard]] std::string case_text(const ChangeFile& file, const Cell& cell);

}  // namespace downfit::testing
