// Case files: a device, dumps and the expected result in one readable text (tests/outcomes/*.case,
// tests/shapes/*.case).
//
//     # What it shows, in one line.
//     == rules                      (optional) replaces the standard device's rules
//     "out-of-range": "clamp"
//     == device                     (optional) replaces the standard device file as a whole
//     == release 1.0                members of the release file; format, device, release and stamp are added
//     "parameters": { … }
//     == body clean 2.0 [slot N]    the body of a preset saved on 2.0, as hex; framed by the standard device's one
//     message
//     == dump clean                 a whole dump as hex, instead
//     == text clean                 a whole dump as the lines that follow, word for word (JSON, XML)
//     == values clean as 2.0        (optional) the existing parameters with their values, as a release decodes them
//     == check clean on 1.0         what must come out, line by line (see compact_text)
//     == told clean on 1.0          (optional) all else that is told about it (compat/told_text.h)
//     == floors clean               (optional) how far back each preset may go, intact and near
//     == with                       (optional) what is known beside the dump, a line each: `fact NAME VALUE`, `slot
//     KIND N`
//                                   and `name KIND TEXT` (of an asset kind: a filled slot, what stands in it),
//                                   `settings HEX` (body of the unit's), `saved-on RELEASE`
//
// The standard device, "wren", has releases 1.0 (stamp 1), 2.0 (stamp 2) and 3.0 (stamp 3), one message a preset
// (F0 7D 09 slot stamp data F7), bodies of 16 bytes, and all loading rules stated.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "base/bytes.h"
#include "compat/check.h"
#include "schema/device.h"

namespace downfit::testing {

/// One expected check of a case file.
struct ExpectedCheck {
    std::string dump;      ///< name of the body or dump section
    std::string release;   ///< target
    std::string expected;  ///< lines, each with its line end
};

/// A case file as read. `device` is loaded already.
struct CaseFile {
    std::filesystem::path path;
    schema::Device device;
    std::map<std::string, Bytes> dumps;
    std::vector<ExpectedCheck> checks;
    std::vector<ExpectedCheck> values;  ///< what a release decodes
    std::vector<ExpectedCheck> told;
    std::vector<ExpectedCheck> floors;  ///< of no release
    compat::CheckOptions options;       ///< without targets
};

/// One section of such a text.
struct Section {
    std::vector<std::string> head;  ///< words after "=="
    std::string text;               ///< the lines up to the next section, each with its line end
};

/// The sections of a text; before the first only comments may stand. Throws, quoting the line, where something else
/// does.
[[nodiscard]] std::vector<Section> sections_of(const std::string& text);

/// Reads a case from a text; `path` is what messages call it. Throws as read_case does.
[[nodiscard]] CaseFile case_from(const std::string& text, const std::filesystem::path& path);

/// The device part of a case whose presets are stored in two ways: layout 0 in four bytes, layout 1 as JSON. `releases`
/// as in the device file, what is out of range is clamped, what is missing gets its default; `rules` says more.
[[nodiscard]] std::string stored_both_ways(const std::string& releases, const std::string& rules = {});

/// Reads a case file under tests/. Throws, naming file and reason, where it makes no sense or its schemas do not load.
[[nodiscard]] CaseFile read_case(const std::filesystem::path& path_in_tests);

/// Checks one dump of a case on a release, all presets, with all their findings.
[[nodiscard]] std::string check_compact(const CaseFile& file, const Bytes& dump, const std::string& release);

/// All else that is told about it.
[[nodiscard]] std::string check_told(const CaseFile& file, const Bytes& dump, const std::string& release);

/// For each preset the floors, checked on every release that has a file: "intact back to 2.0", "near nowhere"; and
/// older releases that qualify too, newest first.
[[nodiscard]] std::string floors_compact(const CaseFile& file, const Bytes& dump);

/// The existing parameters of all presets of a dump with their values, one a line, as a release decodes them.
[[nodiscard]] std::string values_compact(const CaseFile& file, const Bytes& dump, const std::string& release);

/// Whether writing the dump back, unchanged, gives the same bytes.
[[nodiscard]] bool writes_back(const CaseFile& file, const Bytes& dump);

/// A target check in a few words a line: the verdict, then each finding as
///     PARAMETER OUTCOME WEIGHT ACTIVITY: SAVED -> LOADED
/// (weights as BEST..WORST where they differ), then `caution KIND PARAMETER`, `risk TEXT`, `for FACTS` (of a unit that
/// is not known), `doubt PARAMETER NUMBER`. A reason stands behind the verdict as `because REASON`.
[[nodiscard]] std::string compact_text(const compat::TargetCheck& check);

}  // namespace downfit::testing
