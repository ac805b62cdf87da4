// What became of one parameter of a preset, as reports tell it: findings, cautions, causes, doubts.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "compat/outcome.h"

namespace downfit::compat {

/// A number on its range, in base units (dB, Hz, s, …), so that two releases can be drawn on one line.
struct Reach {
    double least = 0, most = 0, value = 0;

    bool operator==(const Reach&) const = default;
};

/// A value for people: what is stored, and what it means.
struct Shown {
    /// "64", "0x7F" is never used; texts as UTF-8. Of N as it stands in the dump, of T as it has it after loading. None
    /// where the dump holds nothing for it: the value is that release's own.
    std::optional<std::string> stored;
    std::string value;             ///< "-12.5 dB", "Crown 30", "On"
    std::optional<Reach> reach{};  ///< of numbers with a stated range

    bool operator==(const Shown&) const = default;
};

/// One possibility of something unsure.
struct Alternative {
    std::string assumption;  ///< "out-of-range: clamp"
    Outcome outcome = Outcome::kept;
    Weight weight = Weight::none;
};

/// What became of one parameter, where it was not kept. Owns all its text: can be replayed and reported without
/// anything else.
struct Finding {
    std::string parameter;        ///< instance id as N calls it (as T calls it where N has none)
    std::string parameter_there;  ///< as T calls it, where that differs
    Outcome outcome = Outcome::kept;
    Weight weight = Weight::none;  ///< the worst
    Weight best = Weight::none;    ///< below weight only where unsure
    Activity activity = Activity::dormant;
    std::optional<Shown> saved, loaded;  ///< as meant on N, as T has it
    std::string saved_overflow;  ///< what N itself makes of a stored number that it does not take; empty where it does
    std::optional<std::size_t> saved_byte, loaded_byte;      ///< first byte in the body; none where nothing is stored
    std::optional<std::size_t> saved_offset, loaded_offset;  ///< the same in the file, where known
    std::string saved_path, loaded_path;                     ///< by name: the path in the preset, empty otherwise …
    std::size_t saved_line = 0, loaded_line = 0;             ///< … and the line in the file, from 1
    std::string rule;                       ///< what decided: "out-of-range: clamp", "no such parameter", …
    std::vector<Alternative> alternatives;  ///< of unsure
    std::string brought_by;                 ///< first release above T on which it loads as meant; empty where none
    std::optional<std::size_t> cause;       ///< index into TargetCheck::causes
    std::string fingerprint;                ///< 16 hex digits; set by check_dump
    bool observed = false;                  ///< either side's description was seen in dumps only, not documented
};

struct Caution {
    CautionKind kind = CautionKind::level_unknown;
    std::string parameter;  ///< instance id, or a group instance (a lost cabinet)
    double rise_db = 0;     ///< of louder; may be infinite
};

/// Why several findings belong together.
struct Cause {
    enum class Kind : std::uint8_t {
        group_missing,  ///< T has no such block, alternate, scene, …
        group_new,      ///< N had none
        parameter,      ///< they exist only under a setting that did not arrive
    };
    Kind kind = Kind::parameter;
    std::string what;              ///< instance id of the group or parameter
    Weight weight = Weight::none;  ///< the worst of its findings
    std::size_t findings = 0;      ///< how many belong to it (without the parameter itself)
};

/// A number that has no meaning on the release that saved it.
struct Doubt {
    std::string parameter;
    std::string stored;
    std::string why;
};

}  // namespace downfit::compat
