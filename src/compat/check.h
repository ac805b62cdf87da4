// Checking: every preset of a dump against one or more target releases. The main job.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/bytes.h"
#include "base/limits.h"
#include "compat/judge.h"
#include "dump/dump.h"

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

/// One preset on one target release.
struct TargetCheck {
    std::size_t release = 0;              ///< order of T
    std::optional<std::size_t> saved_on;  ///< order of N; the worst one where the stamp leaves several
    Verdict verdict = Verdict::undecided;
    Verdict best = Verdict::undecided;   ///< of undecided: what it may be at best …
    Verdict worst = Verdict::undecided;  ///< … and at worst; else both equal `verdict`
    std::string reason;                  ///< of refused and undecided
    bool stamped_later = false;          ///< the stamp names only releases newer than T
    std::size_t parameters = 0;          ///< compared: existing on N or T
    std::size_t observed = 0;            ///< of them, how many are only observed, not documented, on N or T
    std::vector<Finding> findings;       ///< not kept, in the order of N's fields, then T's
    std::vector<Caution> cautions;
    std::vector<Cause> causes;
    std::vector<Doubt> doubts;
    std::vector<schema::Rule> unsettled;  ///< unstated rules that decided something here
    std::vector<std::string> repairs;
    std::vector<std::string>
        risks;  ///< what may go wrong beyond single parameters: processing budget, limits, skipped records
    std::string
        told_for;  ///< facts of the unit that are not known and were taken at their worst ("variant pipit-mini")
    std::string
        fingerprint;  ///< of the preset on this release, whatever happens there: 16 hex digits; set by check_dump
    bool refuses_dump = false;  ///< of refused: the other presets of the dump go with it; of undecided: they may
    bool all_tried = true;      ///< false: undecided since unstated rules have more possibilities than are tried
    /// What else it may be: checked for other facts of the unit, or other releases that the stamp may mean. Only with
    /// CheckOptions::others; without any of their own. This one, the worst, carries the cautions of all.
    std::vector<TargetCheck> others;
};

/// How far back a preset may go.
struct Floor {
    std::optional<std::size_t> oldest;  ///< every release from here to N qualifies
    std::vector<std::size_t> islands;   ///< older ones that qualify too, newest first
};

/// One preset of a dump on all targets.
struct PresetCheck {
    std::size_t entry = 0;  ///< index into Dump::entries
    int slot = -1;          ///< as shown
    std::string name;
    dump::SlotState state = dump::SlotState::filled;
    std::string stamp;                  ///< as stored; empty for none
    std::vector<std::size_t> saved_on;  ///< releases that the stamp may mean, oldest first
    std::vector<TargetCheck> targets;   ///< in the order of the options
    std::optional<Floor> intact, near;  ///< with CheckOptions::floors
    std::size_t unexplained = 0;        ///< body bytes that no parameter covers
};

struct CheckOptions {
    std::vector<std::size_t> targets;          ///< orders of releases
    std::optional<std::size_t> saved_on;       ///< for presets without a stamp
    std::map<std::string, std::string> facts;  ///< of the unit, "variant" among them; missing ones are all tried
    Hearing hearing;
    KnownAssets assets;
    Bytes settings;  ///< body of the unit settings dump of the same set; empty where there is none
    bool brought_by = true;
    bool others = false;  ///< keep what is not the worst of what a preset may be: a policy may accept the worst
    bool floors = false;  ///< needs every release from N down among the targets
    std::size_t most_findings = limits::most_findings;  ///< that check_dump keeps of one dump
};

/// Checks presets of one device. Compiles each pair of releases once, when first needed; so not for several threads at
/// once. The device must outlive it.
class Checker {
public:
    Checker(const schema::Device& device, CheckOptions options);
    ~Checker();

    /// Checks one entry that holds a preset. Never fails: what cannot be judged is undecided, with the reason. `named`:
    /// its body, where it is one by name; without it, such a body is read again for each loading.
    [[nodiscard]] PresetCheck check(const dump::Entry& entry, dump::NamedBody* named = nullptr);

    /// Finds the floors, where they are asked for, from the verdicts on all targets.
    void add_floors(PresetCheck& preset) const;

    [[nodiscard]] const CheckOptions& options() const { return options_; }
    /// The release compiled as that layout stores it, or nullptr where there is no release file.
    [[nodiscard]] const CompiledRelease* compiled(std::size_t release, std::size_t layout = 0);

private:
    const ReleasePair& pair(std::size_t saved, std::size_t loading, std::size_t layout);
    void check_targets(const dump::Entry& entry, dump::NamedBody* named, PresetCheck& preset);
    [[nodiscard]] TargetCheck check_candidates(const dump::Entry& entry, dump::NamedBody* named,
                                               const PresetCheck& preset, std::size_t target);
    void find_brought_by(const Image& image, std::size_t saved, TargetCheck& check);

    const schema::Device& device_;
    CheckOptions options_;
    std::map<const schema::Release*, std::unique_ptr<CompiledRelease>> compiled_;
    std::map<std::pair<const CompiledRelease*, const CompiledRelease*>, std::unique_ptr<ReleasePair>> pairs_;
};

/// A whole dump, checked.
struct DumpCheck {
    std::string file;
    std::string digest;
    std::vector<PresetCheck> presets;  ///< in file order; only entries that hold presets
    std::vector<int> absent;           ///< shown slots between the first and the last that no entry has
    std::optional<Problem> stopped;    ///< more findings than may be kept: the presets from there on are missing
};

/// Checks every preset of a dump and completes what needs the whole file: offsets in the file, fingerprints, absent
/// slots. `original` are the file's bytes.
[[nodiscard]] DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original);

}  // namespace downfit::compat
