// Refitting: a dump written anew so that its presets load on another release with the nearest possible sound, proven by
// loading what was written.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "compat/check.h"
#include "refit/body.h"

namespace downfit::refit {

/// What became of one entry that holds a preset.
enum class Fate : unsigned char {
    kept,     ///< it was saved on that release: nothing to do
    written,  ///< written anew, even if only its stamp changed
    left,     ///< left as it was, for Refitted::reason
};

/// One preset of the dump.
struct Refitted {
    std::size_t entry = 0;  ///< index into Dump::entries
    Fate fate = Fate::left;
    std::string reason;                                   ///< of Fate::left, one sentence
    compat::Verdict before = compat::Verdict::undecided;  ///< on T as it was
    std::size_t parameters = 0;                           ///< how many were written
    std::vector<Note> notes;
    /// The older copy of it, whether anything was taken from it or not.
    FoundBy older_found_by = FoundBy::nothing;
    std::string older_file, older_name;
    int older_slot = -1;  ///< as shown
};

/// The whole file.
struct RefitResult {
    Bytes bytes;                     ///< what is to be written
    std::vector<Refitted> presets;   ///< parallel to `check.presets`
    std::vector<std::size_t> older;  ///< presets that could be copies of these, by RefitOptions::older
    compat::DumpCheck check;  ///< what still differs: what N has of the original against what T has of the new file
};

/// Where values come from that T has and N does not: older copies of the same presets.
struct OlderDump {
    const dump::Dump* dump = nullptr;
};

struct RefitOptions {
    compat::CheckOptions check;  ///< its only target is T
    std::vector<Substitute> substitutes;
    std::vector<OlderDump> older;
    std::string layout;  ///< by which the file was read, where it was named
};

/// Refits every preset of a dump. `original` are the file's bytes. Fails where T has no stamp to write, or what was
/// written cannot be read back; then nothing of it is to be used. A preset that would be worse off than left alone is
/// left as it is.
[[nodiscard]] Result<RefitResult> refit(const dump::Dump& dump, ByteView original, const RefitOptions& options);

}  // namespace downfit::refit
