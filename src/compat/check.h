// Checking: every preset of a dump against one or more target releases. The main job.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "base/bytes.h"
#include "base/limits.h"
#include "compat/finding.h"
#include "compat/judge.h"
#include "dump/dump.h"

namespace downfit::compat {

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

    /// The same on one target, which loads not the entry itself but what it was rewritten to for that target, with the
    /// target's stamp. `written` must be of the same layout.
    [[nodiscard]] PresetCheck check_rewritten(const dump::Entry& entry, dump::NamedBody* named,
                                              const dump::Entry& written, dump::NamedBody* written_named,
                                              std::size_t target);

    /// Finds the floors, where they are asked for, from the verdicts on all targets.
    void add_floors(PresetCheck& preset) const;

    [[nodiscard]] const CheckOptions& options() const { return options_; }
    /// The release compiled as that layout stores it, or nullptr where there is no release file.
    [[nodiscard]] const CompiledRelease* compiled(std::size_t release, std::size_t layout = 0);

private:
    struct Rewritten {
        const dump::Entry* entry = nullptr;
        dump::NamedBody* named = nullptr;
    };  // without an entry: not rewritten
    const ReleasePair& pair(std::size_t saved, std::size_t loading, std::size_t layout, bool rewritten = false);
    [[nodiscard]] PresetCheck describe(const dump::Entry& entry, dump::NamedBody* named);
    void check_targets(const dump::Entry& entry, dump::NamedBody* named, PresetCheck& preset);
    [[nodiscard]] TargetCheck check_candidates(const dump::Entry& entry, dump::NamedBody* named,
                                               const PresetCheck& preset, std::size_t target,
                                               const Rewritten& rewritten);
    void find_brought_by(const Image& image, std::size_t saved, TargetCheck& check);

    const schema::Device& device_;
    CheckOptions options_;
    std::map<const schema::Release*, std::unique_ptr<CompiledRelease>> compiled_;
    std::map<std::tuple<const CompiledRelease*, const CompiledRelease*, bool>, std::unique_ptr<ReleasePair>> pairs_;
};

/// A whole dump, checked.
struct DumpCheck {
    std::string file;
    std::string digest;
    std::vector<PresetCheck> presets;  ///< in file order; only entries that hold presets
    std::vector<int> absent;           ///< shown slots between the first and the last that no entry has
    std::optional<Problem> stopped;    ///< more findings than may be kept: the presets from there on are missing
};

/// What a dump was rewritten to for one target.
struct Rewriting {
    const dump::Dump& dump;  ///< with the same entries, in the same order
    ByteView bytes;
    std::vector<bool> entries;  ///< which of them were rewritten; the others are judged as they were
};

/// Checks every preset of a dump and completes what needs the whole file: offsets in the file, fingerprints, absent
/// slots. `original` are the file's bytes. With `rewriting` the only target loads what was written for it, and
/// `loaded_offset` and its like count there.
[[nodiscard]] DumpCheck check_dump(Checker& checker, const dump::Dump& dump, ByteView original,
                                   const Rewriting* rewriting = nullptr);

}  // namespace downfit::compat
