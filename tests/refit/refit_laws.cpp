#include "refit/refit_laws.h"

#include <algorithm>

#include "dump/stamp.h"
#include "schema/instances.h"

namespace downfit::testing {

namespace {

using compat::Outcome;
using compat::Weight;
using refit::Fate;

/// One refitted dump, beside what it was made of.
struct Laws {
    const dump::Dump& dump;
    const Bytes& bytes;
    const refit::RefitOptions& options;
    const refit::RefitResult& result;
    const dump::Dump& back;
    const compat::DumpCheck& alone;
    std::vector<std::string> broken{};

    std::size_t target() const { return options.check.targets.front(); }

    void tell(const compat::PresetCheck& preset, const std::string& what) {
        broken.push_back(dump.file + " slot " + std::to_string(preset.slot) + " for " +
                         dump.device->releases[target()].name + ": " + what);
    }

    /// The body as it was, with the new stamp where the stamp stands in it.
    Bytes restamped(std::size_t entry) const {
        dump::Dump copy = dump;
        if (back.entries[entry].stamp) static_cast<void>(put_stamp(copy, entry, *back.entries[entry].stamp, bytes));
        return copy.entries[entry].body;
    }

    void look_at(std::size_t index, RefitTally& tally) {
        const refit::Refitted& told = result.presets[index];
        const compat::PresetCheck& now = result.check.presets[index];
        const compat::PresetCheck& before = alone.presets[index];
        const dump::Entry& was = dump.entries[told.entry];
        const dump::Entry& is = back.entries[told.entry];
        if (now.targets.empty()) {
            if (was.state != is.state) tell(now, "an empty slot is none any more");
            return;
        }
        ++tally.presets;
        if (told.fate != Fate::written) {
            if (was.body != is.body || was.stamp != is.stamp) tell(now, "left, and changed all the same");
            tally.left += told.fate == Fate::left ? 1U : 0U;
            return;
        }
        ++tally.written;
        tally.with_values += told.parameters > 0 ? 1U : 0U;
        const compat::TargetCheck& there = now.targets.front();
        const compat::TargetCheck& alone_there = before.targets.front();
        if (there.verdict > alone_there.verdict) tell(now, "worse off than left alone");
        tally.better += there.verdict < alone_there.verdict ? 1U : 0U;
        if (told.parameters == 0) {
            ++tally.unchanged;
            if (restamped(told.entry) != is.body) tell(now, "nothing was written, and its body changed");
        }
        if (was.stamp) look_at_stamp(now, is);
        const bool fine = alone_there.verdict == compat::Verdict::intact && alone_there.findings.empty() &&
                          alone_there.doubts.empty();
        if (fine && told.parameters > 0) tell(now, "everything arrived as it was, and values were written");
        for (const compat::Finding& finding : there.findings) look_at_finding(now, told, finding);
    }

    void look_at_stamp(const compat::PresetCheck& preset, const dump::Entry& is) {
        const auto named = is.stamp ? dump.device->releases_with(*is.stamp) : std::vector<std::size_t>{};
        if (std::find(named.begin(), named.end(), target()) == named.end())
            tell(preset, "not the stamp of the release");
    }

    void look_at_finding(const compat::PresetCheck& preset, const refit::Refitted& told,
                         const compat::Finding& finding) {
        if (finding.weight == Weight::none) return;
        const std::string name = finding.parameter + " is " + std::string(compat::row_of(finding.outcome).name);
        // What names something that the release does not have has no nearer place there.
        const bool nameless = finding.outcome == Outcome::out_of_range && finding.saved &&
                              !knows(finding, finding.saved->value) && !finding.saved->reach;
        if ((finding.outcome == Outcome::displaced || finding.outcome == Outcome::out_of_range) && !nameless)
            tell(preset, name + " (" + finding.rule + ')');
        if (finding.outcome == Outcome::clamped && finding.saved && finding.loaded && finding.saved->reach &&
            finding.loaded->reach) {
            const compat::Reach& reach = *finding.loaded->reach;
            const double share = (reach.value - reach.least) / (reach.most - reach.least);
            if (share > 0.02 && share < 0.98) tell(preset, name + ", and not at an end");
        }
        // A number that means one thing to one release that may have saved it and another to the next suits one alone.
        const bool named = finding.outcome == Outcome::swapped && finding.saved && preset.saved_on.size() == 1;
        const bool withheld = std::ranges::any_of(told.notes, [&](const refit::Note& note) {
            const std::string& id = finding.parameter_there.empty() ? finding.parameter : finding.parameter_there;
            return note.kind == refit::Note::Kind::withheld && note.parameter == id;
        });
        if (named && !withheld && knows(finding, finding.saved->value))
            tell(preset, name + ", and the release knows " + finding.saved->value);
    }

    /// Whether T's parameter has a choice of that label under all conditions.
    bool knows(const compat::Finding& finding, const std::string& label) const {
        const schema::Release& release = *dump.device->releases[target()].schema;
        const std::string& id = finding.parameter_there.empty() ? finding.parameter : finding.parameter_there;
        const schema::Instances instances(release);
        const auto field = instances.resolve(id, -1);
        if (!field) return false;
        const schema::Parameter& parameter = instances.parameter(instances.fields()[*field]);
        return parameter.varies.empty() && parameter.plain.choices && parameter.plain.choices->find(label) != nullptr;
    }

    /// T loads its own file without doing anything about it.
    void look_at_own_loading() {
        compat::Checker checker(*dump.device, options.check);
        for (std::size_t i = 0; i < result.presets.size(); ++i) {
            const refit::Refitted& told = result.presets[i];
            const bool loads = told.fate == Fate::written &&
                               result.check.presets[i].targets.front().verdict != compat::Verdict::refused;
            const dump::Entry& entry = back.entries[told.entry];
            if (!loads || dump.device->framings[entry.framing].named.notation != schema::Notation::bytes) continue;
            const compat::PresetCheck own = checker.check(entry);
            if (own.targets.front().verdict == compat::Verdict::refused)
                tell(own, "the release refuses what was written for it: " + own.targets.front().reason);
        }
    }

    void look_at_neighbours() {
        const auto others = [](const dump::Dump& of, ByteView file) {
            Bytes rest;
            for (const dump::Span& span : of.spans) {
                const bool made = span.kind == dump::Span::Kind::message || span.kind == dump::Span::Kind::text ||
                                  span.kind == dump::Span::Kind::image;
                if (made) continue;
                const ByteView part = file.subspan(span.span.offset, span.span.length);
                rest.insert(rest.end(), part.begin(), part.end());
            }
            return rest;
        };
        if (others(dump, bytes) != others(back, result.bytes))
            broken.push_back(dump.file + ": bytes between presets changed");
        if (dump.spans.size() != back.spans.size()) broken.push_back(dump.file + ": another number of messages");
    }
};

}  // namespace

refit::RefitOptions refit_options(std::size_t target) {
    refit::RefitOptions options;
    options.check.targets = {target};
    options.check.brought_by = false;
    return options;
}

std::vector<std::string> broken_laws(const dump::Dump& dump, const Bytes& bytes, const refit::RefitOptions& options,
                                     RefitTally& tally) {
    const auto refitted = refit::refit(dump, bytes, options);
    if (!refitted) return {dump.file + ": " + refitted.problems().front().what};
    const refit::RefitResult& result = refitted.value();
    const auto back = dump::read(dump.file, result.bytes, *dump.device, options.layout);
    if (!back) return {dump.file + ": what was written cannot be read: " + back.problems().front().what};
    compat::Checker checker(*dump.device, options.check);
    const compat::DumpCheck alone = compat::check_dump(checker, dump, bytes);
    Laws laws{dump, bytes, options, result, back.value(), alone};
    for (std::size_t i = 0; i < result.presets.size(); ++i) laws.look_at(i, tally);
    laws.look_at_own_loading();
    laws.look_at_neighbours();
    const auto again = refit::refit(back.value(), result.bytes, options);
    if (!again || again.value().bytes != result.bytes)
        laws.broken.push_back(dump.file + ": refitting twice changes more");
    return std::move(laws.broken);
}

}  // namespace downfit::testing
