#include "refit/refit.h"

#include <algorithm>
#include <memory>
#include <set>
#include <tuple>
#include <utility>

#include "compat/heaviest.h"
#include "dump/stamp.h"
#include "refit/older.h"
#include "refit/shared.h"
#include "refit/verify.h"

namespace downfit::refit {

namespace {

using compat::CompiledRelease;
using compat::PresetCheck;
using compat::ReleasePair;
using compat::TargetCheck;
using compat::Verdict;
using compat::Weight;

/// Of the possibilities that nobody settles, so many are written for and compared.
constexpr std::size_t most_candidates = 6;
/// Where writing everything makes a preset worse, so many of the fields that it wrote are tried without.
constexpr std::size_t most_withheld = 16;

/// How bad a preset is on T; lower is better.
auto badness(const TargetCheck& check) {
    std::size_t severe = 0;
    std::size_t audible = 0;
    std::size_t slight = 0;
    for (const compat::Finding& finding : check.findings) {
        severe += finding.weight == Weight::severe ? 1U : 0U;
        audible += finding.weight == Weight::audible ? 1U : 0U;
        slight += finding.weight == Weight::slight ? 1U : 0U;
    }
    return std::make_tuple(check.verdict, check.worst, severe, audible, slight, check.cautions.size(),
                           check.risks.size());
}

bool is_worse(const TargetCheck& now, const TargetCheck& alone) {
    if (now.verdict != alone.verdict) return now.verdict > alone.verdict;
    if (now.verdict == Verdict::undecided && now.worst != alone.worst) return now.worst > alone.worst;
    return heaviest(now) > heaviest(alone);
}

/// One preset on its way.
struct Draft {
    Refitted told;
    Bytes body;
    bool wanted = true;  ///< not left
};

/// What a preset may mean.
struct Possibility {
    const ReleasePair* pair = nullptr;
    compat::LoadedPreset saved;
    compat::Assumptions assumptions;
};

/// One body that may be written, and what is found with it.
struct Candidate {
    WrittenBody written;
    TargetCheck check;
};

class Refit {
public:
    Refit(const dump::Dump& dump, ByteView original, const RefitOptions& options)
        : dump_(dump),
          original_(original),
          options_(options),
          checker_(*dump.device, without_extras(options.check)),
          target_(options.check.targets.front()),
          older_(*dump.device, options.older, options.check) {}

    Result<RefitResult> run() {
        alone_ = compat::check_dump(checker_, dump_, original_);
        if (alone_.stopped) return *alone_.stopped;
        single_ = std::count_if(alone_.presets.begin(), alone_.presets.end(),
                                [](const PresetCheck& preset) { return preset.state == dump::SlotState::filled; }) == 1;
        for (std::size_t i = 0; i < alone_.presets.size(); ++i) drafts_.push_back(draft(alone_.presets[i]));
        leave_unwritable_groups();
        for (std::size_t round = 0; round <= drafts_.size() + 1; ++round) {
            dump::Dump next = made();
            Result<Bytes> bytes = dump::write(next, original_);
            if (!bytes) {
                if (leave_what_cannot_be_written()) continue;
                return bytes.problems();
            }
            auto back = read_back(next, bytes.value(), options_.layout);
            if (!back) return back.problems();
            compat::DumpCheck check = judged(back.value(), bytes.value());
            if (check.stopped) return *check.stopped;
            if (leave_worse(check)) continue;
            return result(std::move(bytes).value(), std::move(check));
        }
        return Problem{dump_.file, "cannot be refitted: its presets share what each needs otherwise", {}, {}};
    }

private:
    static compat::CheckOptions without_extras(compat::CheckOptions options) {
        options.floors = false;
        options.others = false;
        return options;
    }

    const schema::Release* target_release(std::size_t layout) const {
        const auto& release = dump_.device->releases[target_].schema;
        return release ? &release->in_layout(layout) : nullptr;
    }

    std::optional<schema::Stamp> target_stamp() const {
        const schema::ReleaseEntry& release = dump_.device->releases[target_];
        if (!release.stamps.empty()) return release.stamps.front();
        if (release.stamp_from) return schema::Stamp{*release.stamp_from};
        return std::nullopt;
    }

    static Draft left(Draft draft, std::string reason) {
        draft.told.fate = Fate::left;
        draft.told.reason = std::move(reason);
        draft.wanted = false;
        return draft;
    }

    Draft draft(const PresetCheck& preset) {
        Draft draft;
        const dump::Entry& entry = dump_.entries[preset.entry];
        draft.told.entry = preset.entry;
        draft.body = entry.body;
        if (preset.targets.empty()) return left(std::move(draft), "the slot is empty");
        draft.told.before = preset.targets.front().verdict;
        if (entry.state == dump::SlotState::damaged) return left(std::move(draft), preset.targets.front().reason);
        const bool known = std::any_of(preset.saved_on.begin(), preset.saved_on.end(), [&](std::size_t release) {
            return checker_.compiled(release, entry.layout) != nullptr;
        });
        if (!known) return left(std::move(draft), preset.targets.front().reason);
        if (preset.saved_on == std::vector{target_}) {
            draft.told.fate = Fate::kept;
            draft.wanted = false;
            return draft;
        }
        if (std::find(preset.saved_on.begin(), preset.saved_on.end(), target_) != preset.saved_on.end())
            return left(std::move(draft), "it may be of that release already; --saved-on says which release saved it");
        const schema::Release* release = target_release(entry.layout);
        if (release->layouts[entry.layout].framing != entry.framing)
            return left(std::move(draft), "the release frames its dumps in another way");
        return written(preset, std::move(draft));
    }

    /// The best of the bodies that may be written for it.
    Draft written(const PresetCheck& preset, Draft draft) {
        dump::Dump stamped = dump_;
        const auto stamp = target_stamp();
        const bool carries = dump_.entries[preset.entry].stamp.has_value();
        if (carries && (!stamp || !put_stamp(stamped, preset.entry, *stamp, original_)))
            return left(std::move(draft), "its stamp has no room for that of the release");
        const Bytes& start = stamped.entries[preset.entry].body;
        const OlderCopy older = older_.copy_of(preset, dump_.entries[preset.entry].layout, single_);
        draft.told.older_found_by = older.found_by;
        draft.told.older_file = older.file;
        draft.told.older_name = older.name;
        draft.told.older_slot = older.slot;
        Candidate best = best_of(preset, start, true);
        // What the user asked for is put in spite of a caution, not in spite of a worse verdict.
        if (is_asked_for(best.written) && is_worse(best.check, preset.targets.front()))
            best = best_of(preset, start, false);
        draft.body = std::move(best.written.body);
        draft.told.notes = std::move(best.written.notes);
        draft.told.parameters = best.written.written;
        draft.told.fate = Fate::written;
        if (is_worse(best.check, preset.targets.front()))
            return left(std::move(draft), "it would be worse off than as it is");
        return draft;
    }

    /// The body that leaves the preset best off; what the user asked for stands where it is put at all.
    Candidate best_of(const PresetCheck& preset, const Bytes& start, bool as_asked) {
        Candidate alone{{start, {}, 0, {}}, judge(preset, start)};
        std::optional<Candidate> best;
        for (const Possibility& possibility : possibilities(preset, start)) {
            Candidate candidate = candidate_of(preset, possibility, start, as_asked, {});
            if (badness(alone.check) < badness(candidate.check))
                withhold(preset, possibility, start, as_asked, candidate);
            if (!best || badness(candidate.check) < badness(best->check)) best = std::move(candidate);
        }
        // Where nothing had to change, nothing does.
        const bool fine =
            alone.check.verdict == Verdict::intact && alone.check.findings.empty() && alone.check.doubts.empty();
        const bool better_alone =
            best && (fine || badness(alone.check) < badness(best->check)) && !is_asked_for(best->written);
        if (!best || better_alone) best = std::move(alone);
        return *std::move(best);
    }

    /// What the preset may mean: one loading of it on a release that may have saved it. The latest release first.
    std::vector<Possibility> possibilities(const PresetCheck& preset, const Bytes& start) {
        std::vector<Possibility> found;
        const dump::Entry& entry = dump_.entries[preset.entry];
        for (auto order = preset.saved_on.rbegin(); order != preset.saved_on.rend(); ++order) {
            const CompiledRelease* saved = checker_.compiled(*order, entry.layout);
            if (saved == nullptr) continue;
            const ReleasePair& both = pair(*saved, entry.layout);
            const compat::Image image{entry.body, entry.layout, *order, preset.slot, options_.check.settings,
                                      nullptr,    nullptr};
            const compat::Image there{start,   entry.layout, target_, preset.slot, options_.check.settings,
                                      nullptr, nullptr};
            auto runs = compat::explore(both, image, there, options_.check.facts, options_.check.hearing,
                                        options_.check.assets);
            for (compat::Run& run : runs.runs) {
                if (run.saved.refused || found.size() >= most_candidates) continue;
                found.push_back({&both, std::move(run.saved), std::move(run.assumptions)});
            }
        }
        return found;
    }

    Candidate candidate_of(const PresetCheck& preset, const Possibility& possibility, const Bytes& start, bool as_asked,
                           std::set<std::size_t> unwritten) {
        static const std::vector<Substitute> none;
        const dump::Entry& entry = dump_.entries[preset.entry];
        const Writing writing{*possibility.pair,
                              taker(entry.layout),
                              dump_.device->framings[entry.framing],
                              entry.layout,
                              entry.cut.has_value(),
                              preset.slot,
                              options_.check.settings,
                              options_.check.hearing,
                              as_asked ? options_.substitutes : none,
                              as_asked ? older_.copy_of(preset, entry.layout, single_) : OlderCopy(),
                              std::move(unwritten)};
        WrittenBody written = write_body(writing, possibility.saved, possibility.assumptions, start);
        TargetCheck check = judge(preset, written.body);
        return {std::move(written), std::move(check)};
    }

    static bool is_asked_for(const Note& note) {
        return note.kind == Note::Kind::substituted || note.kind == Note::Kind::filled;
    }

    /// Whether the user said what some of it is to be: then it stands, as long as the preset is not worse off.
    static bool is_asked_for(const WrittenBody& written) {
        return std::any_of(written.notes.begin(), written.notes.end(),
                           [](const Note& note) { return is_asked_for(note); });
    }

    /// The fields that were written, but for what the user asked for: first those on which others hang.
    static std::vector<std::size_t> suspects(const WrittenBody& written, const CompiledRelease& there) {
        std::vector<std::size_t> fields;
        for (const std::size_t field : written.fields) {
            const std::string& id = there.fields()[field].field->id;
            const bool asked = std::any_of(written.notes.begin(), written.notes.end(), [&](const Note& note) {
                return is_asked_for(note) && note.parameter == id;
            });
            if (!asked) fields.push_back(field);
        }
        std::stable_partition(fields.begin(), fields.end(), [&](std::size_t field) {
            const compat::BoundField& bound = there.fields()[field];
            return bound.bearing == compat::Bearing::more || bound.parameter->kind == schema::Kind::reference;
        });
        fields.resize(std::min(fields.size(), most_withheld));
        return fields;
    }

    /// A candidate that is worse than writing nothing: what of it makes it worse is left as it was stored, one field
    /// after the other, as long as that helps.
    void withhold(const PresetCheck& preset, const Possibility& possibility, const Bytes& start, bool as_asked,
                  Candidate& candidate) {
        const CompiledRelease& there = taker(dump_.entries[preset.entry].layout);
        std::set<std::size_t> unwritten;
        for (bool helps = true; helps;) {
            helps = false;
            std::optional<std::size_t> worst;
            Candidate best = candidate;
            for (const std::size_t field : suspects(candidate.written, there)) {
                std::set<std::size_t> without = unwritten;
                without.insert(field);
                Candidate other = candidate_of(preset, possibility, start, as_asked, std::move(without));
                if (!(badness(other.check) < badness(best.check))) continue;
                best = std::move(other);
                worst = field;
            }
            if (!worst) break;
            helps = unwritten.insert(*worst).second;
            candidate = std::move(best);
        }
        for (const std::size_t field : unwritten)
            candidate.written.notes.push_back({Note::Kind::withheld, there.fields()[field].field->id, 0});
    }

    TargetCheck judge(const PresetCheck& preset, const Bytes& body) {
        dump::Entry there = dump_.entries[preset.entry];
        there.body = body;
        return checker_.check_rewritten(dump_.entries[preset.entry], nullptr, there, nullptr, target_).targets.front();
    }

    const ReleasePair& pair(const CompiledRelease& saved, std::size_t layout) {
        auto& slot = pairs_[{&saved, layout}];
        if (!slot) slot = std::make_unique<ReleasePair>(saved, *checker_.compiled(target_, layout), *dump_.device);
        return *slot;
    }

    const CompiledRelease& taker(std::size_t layout) {
        auto& slot = takers_[layout];
        if (!slot.second) {
            slot.first = std::make_unique<schema::Release>(lenient(*target_release(layout)));
            slot.second = std::make_unique<CompiledRelease>(*dump_.device, *slot.first);
        }
        return *slot.second;
    }

    /// Presets that share one stamp are all written, or none.
    void leave_unwritable_groups() {
        std::map<dump::StampPlace, std::vector<Draft*>> groups;
        for (Draft& draft : drafts_) {
            const dump::Entry& entry = dump_.entries[draft.told.entry];
            if (entry.state == dump::SlotState::empty) continue;
            groups[dump::stamp_place(dump_, draft.told.entry)].push_back(&draft);
        }
        for (auto& [place, group] : groups) {
            if (place.kind == dump::StampPlace::Kind::nowhere || group.size() < 2) continue;
            const auto stays = std::find_if(group.begin(), group.end(),
                                            [](const Draft* draft) { return draft->told.fate == Fate::left; });
            if (stays == group.end()) continue;
            const int slot = dump::shown_slot(*dump_.device, dump_.entries[(*stays)->told.entry]);
            for (Draft* draft : group) {
                if (!draft->wanted) continue;
                *draft = left(std::move(*draft),
                              "it shares its stamp with slot " + std::to_string(slot) + ", which is left as it is");
            }
        }
    }

    dump::Dump made() const {
        dump::Dump next = dump_;
        const auto stamp = target_stamp();
        for (const Draft& draft : drafts_) {
            if (!draft.wanted) continue;
            dump::Entry& entry = next.entries[draft.told.entry];
            entry.body = draft.body;
            if (entry.stamp && stamp) static_cast<void>(put_stamp(next, draft.told.entry, *stamp, original_));
        }
        share_bytes(dump_, next);
        return next;
    }

    /// Finds the presets that keep the whole from being written. False where none does.
    bool leave_what_cannot_be_written() {
        bool any = false;
        std::vector<bool> wanted;
        for (Draft& draft : drafts_) {
            wanted.push_back(draft.wanted);
            draft.wanted = false;
        }
        for (std::size_t i = 0; i < drafts_.size(); ++i) {
            if (!wanted[i]) continue;
            drafts_[i].wanted = true;
            const Result<Bytes> bytes = dump::write(made(), original_);
            if (bytes) continue;
            any = true;
            drafts_[i] = left(std::move(drafts_[i]), "it cannot be written: " + bytes.problems().front().what);
        }
        leave_unwritable_groups();
        return any;
    }

    compat::DumpCheck judged(const dump::Dump& back, const Bytes& bytes) {
        compat::Rewriting rewriting{back, bytes, std::vector<bool>(dump_.entries.size(), false)};
        for (const Draft& draft : drafts_) rewriting.entries[draft.told.entry] = draft.wanted;
        // Bytes that they share may have changed presets that were left.
        for (std::size_t i = 0; i < dump_.entries.size(); ++i) {
            if (back.entries[i].body != dump_.entries[i].body) rewriting.entries[i] = true;
        }
        return compat::check_dump(checker_, dump_, original_, &rewriting);
    }

    bool leave_worse(const compat::DumpCheck& check) {
        bool any = false;
        for (std::size_t i = 0; i < drafts_.size(); ++i) {
            if (check.presets[i].targets.empty() || alone_.presets[i].targets.empty()) continue;
            if (!is_worse(check.presets[i].targets.front(), alone_.presets[i].targets.front())) continue;
            if (drafts_[i].wanted) {
                drafts_[i] = left(std::move(drafts_[i]), "it would be worse off than as it is");
                any = true;
            } else {
                any = leave_sharers(i) || any;
            }
        }
        if (any) leave_unwritable_groups();
        return any;
    }

    /// What was written over bytes that a preset shares which is worse off by it.
    bool leave_sharers(std::size_t index) {
        bool any = false;
        for (Draft& draft : drafts_) {
            if (!draft.wanted || !share(dump_, draft.told.entry, drafts_[index].told.entry)) continue;
            draft = left(std::move(draft), "it shares bytes with a preset that would be worse off");
            any = true;
        }
        return any;
    }

    RefitResult result(Bytes bytes, compat::DumpCheck check) {
        RefitResult result;
        result.bytes = std::move(bytes);
        result.check = std::move(check);
        std::set<std::size_t> layouts;
        for (const Draft& draft : drafts_) layouts.insert(dump_.entries[draft.told.entry].layout);
        result.older = older_.offered(layouts);
        for (Draft& draft : drafts_) result.presets.push_back(std::move(draft.told));
        return result;
    }

    const dump::Dump& dump_;
    ByteView original_;
    const RefitOptions& options_;
    compat::Checker checker_;
    std::size_t target_;
    OlderCopies older_;
    compat::DumpCheck alone_;
    bool single_ = false;        // the dump holds one preset
    std::vector<Draft> drafts_;  // parallel to alone_.presets
    std::map<std::pair<const CompiledRelease*, std::size_t>, std::unique_ptr<ReleasePair>> pairs_;
    std::map<std::size_t, std::pair<std::unique_ptr<schema::Release>, std::unique_ptr<CompiledRelease>>> takers_;
};

}  // namespace

Result<RefitResult> refit(const dump::Dump& dump, ByteView original, const RefitOptions& options) {
    return Refit(dump, original, options).run();
}

}  // namespace downfit::refit
