#include "compat/compare.h"

#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include "base/text.h"
#include "compat/file_places.h"
#include "dump/locate.h"
#include "dump/tree.h"

namespace downfit::compat {
namespace {

constexpr std::array<std::string_view, alike_count> alike_names{"different", "only-in-a", "only-in-b", "undecided",
                                                                "damaged",   "near",      "same"};

bool is_filled_slot(const std::optional<PresetIn>& preset) {
    return preset && preset->state == dump::SlotState::filled;
}

bool is_empty(const std::optional<PresetIn>& preset) {
    return preset && preset->state == dump::SlotState::empty;
}

bool is_damaged(const std::optional<PresetIn>& preset) {
    return preset && preset->state == dump::SlotState::damaged;
}

/// One set while it is compared.
class OneSet {
public:
    OneSet(const DumpSet& set, Checker& checker) : set_(set) {
        for (std::size_t part = 0; part < set.parts.size(); ++part) {
            const dump::Dump& dump = *set.parts[part].dump;
            lines_.push_back(has_lines(dump) ? line_starts(set.parts[part].file) : std::vector<std::size_t>{});
            for (std::size_t i = 0; i < dump.entries.size(); ++i) {
                const dump::Entry& entry = dump.entries[i];
                if (dump.device->framings[entry.framing].holds != schema::Holds::presets) continue;
                const PresetCheck check = checker.check(entry);
                std::string name = check.name.empty() ? dump::captured_name(dump, entry) : check.name;
                presets_.push_back({part, i, check.slot, std::move(name), check.stamp, check.saved_on, entry.state});
            }
        }
    }

    [[nodiscard]] const std::vector<PresetIn>& presets() const { return presets_; }
    [[nodiscard]] const dump::Dump& dump(const PresetIn& preset) const { return *set_.parts[preset.part].dump; }
    [[nodiscard]] const dump::Entry& entry(const PresetIn& preset) const { return dump(preset).entries[preset.entry]; }

    [[nodiscard]] HeldPreset held(const PresetIn& preset) const {
        return {&dump(preset),   &entry(preset), set_.parts[preset.part].file,
                preset.saved_on, preset.slot,    set_.settings};
    }

    [[nodiscard]] std::vector<Matchable> matchables() const {
        std::vector<Matchable> list;
        for (const PresetIn& preset : presets_) {
            const std::string& file = dump(preset).file;
            list.push_back({file.substr(file.find_last_of('/') + 1), preset.slot, preset.name, {}, preset.state});
        }
        return list;
    }

    /// Calls `add` with the places of a preset.
    template <class Add>
    void with_places(const PresetIn& preset, const Add& add) const {
        std::optional<dump::NamedBody> named;
        const dump::Entry& one = entry(preset);
        if (one.text) named.emplace(dump(preset).device->framings[one.framing].named.notation, one.body);
        add(FilePlaces(dump(preset), one, set_.parts[preset.part].file, lines_[preset.part],
                       named ? &*named : nullptr));
    }

private:
    const DumpSet& set_;
    std::vector<PresetIn> presets_;
    std::vector<std::vector<std::size_t>> lines_;
};

class Work {
public:
    Work(Comparer& comparer, const DumpSet& first, const DumpSet& second, const CompareOptions& options)
        : comparer_(comparer),
          options_(options),
          first_(first, comparer.checker()),
          second_(second, comparer.checker()) {}

    Comparison run() {
        match();
        std::size_t findings = 0;
        for (std::size_t i = 0; i < comparison_.pairs.size(); ++i) {
            ComparedPair& pair = comparison_.pairs[i];
            look_at(i, pair);
            findings += pair.likeness.sound.findings.size() + (pair.prediction ? pair.prediction->findings.size() : 0);
            if (findings <= options_.most_findings) continue;
            comparison_.stopped = Problem{std::monostate(),
                                          "the comparison leads to more than " +
                                              number_text(static_cast<double>(options_.most_findings)) + " findings",
                                          "fewer presets at once", "choose slots (--slot) or split the dumps"};
            comparison_.pairs.resize(i);
            break;
        }
        comparison_.rule_faults = evidence_.rule_faults();
        comparison_.value_faults = evidence_.value_faults();
        return std::move(comparison_);
    }

private:
    void match() {
        std::vector<Matchable> first = first_.matchables();
        for (std::size_t i = 0; i < first.size(); ++i) first[i].alias = name_there(first_.presets()[i]);
        const Matching matching = match_presets(first, second_.matchables(), options_.match);
        comparison_.by = matching.by;
        comparison_.other_names = matching.other_names;
        comparison_.shared_names = matching.shared_names;
        for (const Match& match : matching.matches) {
            ComparedPair pair;
            if (match.first) pair.first = first_.presets()[*match.first];
            if (match.second) pair.second = second_.presets()[*match.second];
            const bool nothing = (!pair.first || is_empty(pair.first)) && (!pair.second || is_empty(pair.second));
            if (nothing) continue;
            if (wants(pair.first) || wants(pair.second)) {
                comparison_.pairs.push_back(std::move(pair));
            } else {
                ++comparison_.left_out;
            }
        }
    }

    [[nodiscard]] bool wants(const std::optional<PresetIn>& preset) const {
        return preset && (!options_.wanted || options_.wanted(preset->slot, preset->name));
    }

    /// What the release of a unit that is read back makes of the name.
    std::string name_there(const PresetIn& preset) {
        if (options_.read_back != ReadBack::loaded || !options_.release || preset.state != dump::SlotState::filled)
            return {};
        const dump::Entry& entry = first_.entry(preset);
        const CompiledRelease* release = comparer_.checker().compiled(*options_.release, entry.layout);
        if (release == nullptr) return {};
        return dump::preset_name(release->instances(), entry.body, entry.layout);
    }

    /// The release of the unit that was read back: the one asked for, or that of the preset's stamp.
    [[nodiscard]] std::optional<std::size_t> unit_release(const PresetIn& shown) const {
        if (options_.release) return options_.release;
        return shown.saved_on.empty() ? std::nullopt : std::optional(shown.saved_on.back());
    }

    void look_at(std::size_t index, ComparedPair& pair) {
        if (is_damaged(pair.first) || is_damaged(pair.second)) {
            pair.alike = Alike::damaged;
        } else if (!is_filled_slot(pair.first)) {
            pair.alike = Alike::only_second;
            pair.fails = options_.read_back == ReadBack::none;
        } else if (!is_filled_slot(pair.second)) {
            look_at_missing(index, pair);
        } else {
            look_at_both(index, pair);
        }
    }

    void look_at_missing(std::size_t index, ComparedPair& pair) {
        pair.alike = Alike::only_first;
        pair.fails = true;
        if (options_.read_back != ReadBack::loaded || !options_.release || !is_empty(pair.second)) return;
        PredictionCheck check = comparer_.predict_refusal(first_.held(*pair.first), *options_.release);
        evidence_.add(index, check.evidence);
        pair.fails = check.check.verdict != Verdict::intact;
        if (!pair.fails) pair.alike = Alike::same;
        pair.prediction = std::move(check.check);
    }

    void look_at_both(std::size_t index, ComparedPair& pair) {
        HeldPreset first = first_.held(*pair.first);
        HeldPreset second = second_.held(*pair.second);
        // A unit may keep the stamp of what it has loaded; it writes what it plays all the same.
        const bool told = options_.read_back == ReadBack::loaded && options_.release;
        if (told) second.saved_on = {*options_.release};
        pair.likeness = comparer_.compare(first, second);
        add_places(pair, pair.likeness.sound);
        note_missing(first, second);
        if (options_.read_back == ReadBack::loaded) {
            const auto release = unit_release(*pair.second);
            PredictionCheck check;
            if (release) {
                check = comparer_.predict(first, second, *release);
            } else {
                check.check.reason = "no release is known that was read back: say which one the unit runs (--on)";
            }
            evidence_.add(index, check.evidence);
            add_places(pair, check.check);
            pair.prediction = std::move(check.check);
        }
        judge(pair);
    }

    void judge(ComparedPair& pair) const {
        const TargetCheck& check = pair.told();
        Weight weight = Weight::none;
        for (const Finding& finding : check.findings) weight = std::max(weight, finding.weight);
        switch (check.verdict) {
            case Verdict::intact: pair.alike = Alike::same; break;
            case Verdict::near: pair.alike = Alike::near; break;
            case Verdict::undecided: pair.alike = Alike::undecided; return;
            case Verdict::altered:
            case Verdict::refused: pair.alike = Alike::otherwise; break;
        }
        const bool without_findings = pair.alike == Alike::otherwise && check.findings.empty();
        pair.fails = without_findings || at_least(weight) || (options_.exact && !check.findings.empty());
    }

    [[nodiscard]] bool at_least(Weight weight) const {
        switch (options_.fails) {
            case schema::FailsFrom::near: return weight >= Weight::slight;
            case schema::FailsFrom::altered: return weight >= Weight::audible;
            case schema::FailsFrom::severe: return weight >= Weight::severe;
            case schema::FailsFrom::refused: break;
        }
        return false;
    }

    /// Of a prediction the numbers stand nowhere: where they come from is the first preset all the same.
    void add_places(const ComparedPair& pair, TargetCheck& check) const {
        if (check.findings.empty()) return;
        first_.with_places(*pair.first, [&](const FilePlaces& places) {
            for (Finding& finding : check.findings) places.add_saved(finding);
        });
        second_.with_places(*pair.second, [&](const FilePlaces& places) {
            for (Finding& finding : check.findings) places.add_loaded(finding);
        });
    }

    void note_missing(const HeldPreset& first, const HeldPreset& second) {
        if (first.entry->layout == second.entry->layout || second.saved_on.empty()) return;
        const std::size_t release = second.saved_on.back();
        if (!looked_for_missing_.insert({release, first.entry->layout, second.entry->layout}).second) return;
        std::vector<std::string> missing = comparer_.not_in_both(release, first.entry->layout, second.entry->layout);
        if (missing.empty()) return;
        comparison_.not_in_both.push_back({first.dump->device->releases[release].name, std::move(missing)});
    }

    Comparer& comparer_;
    const CompareOptions& options_;
    OneSet first_, second_;
    Comparison comparison_;
    Evidence evidence_;
    std::set<std::tuple<std::size_t, std::size_t, std::size_t>> looked_for_missing_;
};

}  // namespace

std::string_view alike_name(Alike alike) {
    return alike_names[static_cast<std::size_t>(alike)];
}

std::size_t Comparison::count(Alike alike) const {
    return static_cast<std::size_t>(
        std::count_if(pairs.begin(), pairs.end(), [&](const ComparedPair& pair) { return pair.alike == alike; }));
}

Comparison compare_dumps(Comparer& comparer, const DumpSet& first, const DumpSet& second,
                         const CompareOptions& options) {
    return Work(comparer, first, second, options).run();
}

}  // namespace downfit::compat
