#include "compat/findings.h"

#include <algorithm>
#include <map>

#include "compat/show.h"

namespace downfit::compat {
namespace {

using Position = std::vector<Judgement>::size_type;

Side side_in(const CompiledRelease& release, const LoadedPreset& preset, int field) {
    if (field < 0) return {};
    const auto at = static_cast<std::size_t>(field);
    return {&release, &release.fields()[at], &preset.fields[at]};
}

/// Whether what the release says of it was only seen in dumps.
bool is_observed(const Side& side) {
    return side.exists() && side.field->parameter->observed;
}

/// The run whose judgement of this link is told: the one in which it weighs most.
const Run& telling_run(const std::vector<const Run*>& runs, Position link) {
    const Run* told = runs.front();
    for (const Run* run : runs) {
        if (run->judgements[link].worst > told->judgements[link].worst) told = run;
    }
    return *told;
}

bool weights_differ(const std::vector<const Run*>& runs, Position link) {
    const Judgement& first = runs.front()->judgements[link];
    return std::any_of(runs.begin(), runs.end(), [&](const Run* run) {
        const Judgement& other = run->judgements[link];
        return other.best != first.best || other.worst != first.worst;
    });
}

void add_alternatives(const std::vector<const Run*>& runs, Position link, const ReleasePair& pair, Finding& finding) {
    for (const Run* run : runs) {
        const Judgement& judgement = run->judgements[link];
        finding.best = std::min(finding.best, judgement.best);
        const bool known =
            std::any_of(finding.alternatives.begin(), finding.alternatives.end(), [&](const Alternative& other) {
                return other.outcome == judgement.outcome && other.weight == judgement.worst;
            });
        if (!known) finding.alternatives.push_back({assumption_text(*run, pair), judgement.outcome, judgement.worst});
    }
}

/// Turns links into findings, and remembers which finding each field belongs to.
class Collector {
public:
    Collector(const ReleasePair& pair, const Exploration& exploration, TargetCheck& check)
        : pair_(pair),
          check_(check),
          asked_(exploration.asked.any()),
          finding_of_saved_(pair.saved().fields().size(), -1),
          finding_of_loading_(pair.loading().fields().size(), -1) {
        for (const Run& run : exploration.runs) {
            if (run.judged()) runs_.push_back(&run);
        }
    }

    void collect() {
        for (Position link = 0; link < pair_.links().size(); ++link) collect_link(link);
        collect_protection();
        collect_doubts();
        check_.repairs = runs_.front()->loading.repairs;
        for (std::size_t i = 0; i < check_.findings.size(); ++i) find_cause(i);
        weigh_causes();
    }

private:
    void collect_link(Position position) {
        const Link& link = pair_.links()[position];
        const Run& run = telling_run(runs_, position);
        const Side saved = side_in(pair_.saved(), run.saved, link.saved);
        const Side loading = side_in(pair_.loading(), run.loading, link.loading);
        const bool observed = is_observed(saved) || is_observed(loading);
        if (saved.exists() || loading.exists()) ++check_.parameters;
        if (observed) ++check_.observed;
        const bool differ = runs_.size() > 1 && weights_differ(runs_, position);
        const Judgement& judgement = run.judgements[position];
        if (judgement.outcome == Outcome::kept && !differ) return;

        Finding finding;
        finding.parameter =
            saved.exists() || loading.field == nullptr ? saved.field->field->id : loading.field->field->id;
        if (loading.field != nullptr && loading.field->field->id != finding.parameter) {
            finding.parameter_there = loading.field->field->id;
        }
        finding.outcome = judgement.outcome;
        finding.weight = judgement.worst;
        finding.best = judgement.best;
        finding.activity = judgement.activity;
        finding.observed = observed;
        describe(saved, loading, finding);
        finding.rule = rule_text(judgement, saved, loading, link, run.saved, pair_.saved());
        if (differ) {
            finding.outcome = Outcome::unsure;
            finding.rule = asked_ ? "no rule is stated" : "what the unit held before decides";
            add_alternatives(runs_, position, pair_, finding);
        }
        if (link.saved >= 0)
            finding_of_saved_[static_cast<std::size_t>(link.saved)] = static_cast<int>(check_.findings.size());
        if (link.loading >= 0)
            finding_of_loading_[static_cast<std::size_t>(link.loading)] = static_cast<int>(check_.findings.size());
        links_.push_back(position);
        add_caution(position, finding.parameter);
        check_.findings.push_back(std::move(finding));
    }

    static void describe(const Side& saved, const Side& loading, Finding& finding) {
        if (saved.exists()) {
            finding.saved = show_saved(saved);
            finding.saved_byte = body_byte(saved);
            finding.saved_overflow = overflow_text(saved);
        }
        if (loading.exists() && finding.outcome != Outcome::lost) {
            finding.loaded = show_loaded(loading);
            finding.loaded_byte = body_byte(loading);
        }
    }

    /// A caution in any run is a caution.
    void add_caution(Position position, const std::string& parameter) {
        std::optional<Caution> worst;
        for (const Run* run : runs_) {
            const Judgement& judgement = run->judgements[position];
            if (!judgement.caution) continue;
            if (!worst || *judgement.caution < worst->kind ||
                (*judgement.caution == worst->kind && judgement.rise_db > worst->rise_db)) {
                worst = Caution{*judgement.caution, parameter, judgement.rise_db};
            }
        }
        if (worst) check_.cautions.push_back(*worst);
    }

    void collect_protection() {
        std::vector<int> groups;
        for (const Run* run : runs_) {
            for (const int group : run->lost_protection) {
                if (std::find(groups.begin(), groups.end(), group) == groups.end()) groups.push_back(group);
            }
        }
        for (const int group : groups) {
            const std::string& id = pair_.saved().instances().groups()[static_cast<std::size_t>(group)].id;
            check_.cautions.push_back({CautionKind::level_unknown, id, 0});
        }
    }

    void collect_doubts() {
        const LoadedPreset& preset = runs_.front()->saved;
        for (std::size_t i = 0; i < preset.fields.size(); ++i) {
            const Loaded& loaded = preset.fields[i];
            if (!loaded.exists || (loaded.known && settled(i))) continue;
            const BoundField& field = pair_.saved().fields()[i];
            const std::string& release = pair_.saved().release().name;
            if (!loaded.known) {
                const bool real = loaded.read.kind == dump::Stored::Kind::real;
                const std::string number = real ? "not a number" : std::to_string(loaded.read.whole);
                check_.doubts.push_back({field.field->id, loaded.read.text.empty() ? number : loaded.read.text,
                                         "no meaning on " + release});
                continue;
            }
            check_.doubts.push_back({field.field->id,
                                     show_saved({&pair_.saved(), &field, &loaded}).stored.value_or("not stored"),
                                     "no rule of " + release + " says what becomes of it"});
        }
    }

    /// Whether N has the same for what it read, whatever the rules that nobody stated say.
    [[nodiscard]] bool settled(std::size_t field) const {
        if (runs_.size() == 1) return true;
        const Loaded& first = runs_.front()->saved.fields[field];
        return !first.in_image || std::all_of(runs_.begin(), runs_.end(), [&](const Run* run) {
            const Loaded& loaded = run->saved.fields[field];
            return !(loaded.read == first.read) || loaded.stored == first.stored;
        });
    }

    void find_cause(std::size_t index) {
        const Link& link = pair_.links()[links_[index]];
        const int missing = link.saved >= 0 ? outermost(pair_.saved(), link.saved, pair_.saved_group_on_loading()) : -1;
        if (missing >= 0) {
            return attach(index, Cause::Kind::group_missing,
                          pair_.saved().instances().groups()[static_cast<std::size_t>(missing)].id);
        }
        const int added =
            link.saved < 0 ? outermost(pair_.loading(), link.loading, pair_.loading_group_on_saved()) : -1;
        if (added >= 0) {
            return attach(index, Cause::Kind::group_new,
                          pair_.loading().instances().groups()[static_cast<std::size_t>(added)].id);
        }
        const int root = root_of(static_cast<int>(index));
        if (root != static_cast<int>(index)) {
            attach(index, Cause::Kind::parameter, check_.findings[static_cast<std::size_t>(root)].parameter);
        }
    }

    /// The outermost group instance around a field that the other release lacks, or -1.
    static int outermost(const CompiledRelease& release, int field, const std::vector<bool>& found_there) {
        int outer = -1;
        for (int g = release.fields()[static_cast<std::size_t>(field)].group; g >= 0;
             g = release.groups()[static_cast<std::size_t>(g)].parent) {
            if (!found_there[static_cast<std::size_t>(g)]) outer = g;
        }
        return outer;
    }

    /// The finding that a finding's conditions ask about, on T or else on N, or -1.
    [[nodiscard]] int asked_by(int index) const {
        const Link& link = pair_.links()[links_[static_cast<std::size_t>(index)]];
        const auto follow = [](const CompiledRelease& release, int field, const std::vector<int>& finding_of) {
            if (field < 0) return -1;
            for (const int asked : release.fields()[static_cast<std::size_t>(field)].depends_on) {
                const int finding = finding_of[static_cast<std::size_t>(asked)];
                if (finding >= 0) return finding;
            }
            return -1;
        };
        const int there = follow(pair_.loading(), link.loading, finding_of_loading_);
        return there >= 0 ? there : follow(pair_.saved(), link.saved, finding_of_saved_);
    }

    /// Follows what a finding's conditions ask to the finding at the end of the chain. Conditions of two releases
    /// together may run in a circle.
    [[nodiscard]] int root_of(int index) const {
        std::vector<bool> met(links_.size(), false);
        int root = index;
        for (int next = index; next >= 0 && !met[static_cast<std::size_t>(next)]; next = asked_by(next)) {
            met[static_cast<std::size_t>(next)] = true;
            root = next;
        }
        return root;
    }

    void attach(std::size_t index, Cause::Kind kind, const std::string& what) {
        const auto [at, fresh] = causes_.try_emplace({static_cast<int>(kind), what}, check_.causes.size());
        if (fresh) check_.causes.push_back({kind, what, Weight::none, 0});
        check_.findings[index].cause = at->second;
    }

    void weigh_causes() {
        for (const Finding& finding : check_.findings) {
            if (!finding.cause) continue;
            Cause& cause = check_.causes[*finding.cause];
            cause.weight = std::max(cause.weight, finding.weight);
            ++cause.findings;
        }
    }

    const ReleasePair& pair_;
    TargetCheck& check_;
    bool asked_;
    std::vector<const Run*> runs_;
    std::vector<int> finding_of_saved_, finding_of_loading_;
    std::vector<Position> links_;  // parallel to check_.findings
    std::map<std::pair<int, std::string>, std::size_t> causes_;
};

}  // namespace

void collect_findings(const ReleasePair& pair, const Exploration& exploration, TargetCheck& check) {
    Collector(pair, exploration, check).collect();
}

}  // namespace downfit::compat
