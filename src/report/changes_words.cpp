#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "report/changes_report.h"

namespace downfit::report {

namespace {

constexpr std::size_t most_presets_named = 4;

/// "a, b, c, d and 8 more".
std::string some_of(const std::vector<std::string>& names) {
    std::string text;
    for (std::size_t i = 0; i < std::min(names.size(), most_presets_named); ++i)
        text += (i == 0 ? "" : ", ") + names[i];
    if (names.size() > most_presets_named)
        text += " and " + std::to_string(names.size() - most_presets_named) + " more";
    return text;
}

std::string all_of(const std::vector<std::string>& names) {
    std::string text;
    for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
    return text;
}

/// "delay" of "delay.tap.level".
std::string block_of(const std::string& parameter) {
    return parameter.substr(0, parameter.find('.'));
}

bool names_itself(study::ChangeKind kind) {
    using enum study::ChangeKind;
    return kind == parameter_renamed || kind == group_renamed;
}

/// What comes behind the subject, this way round.
std::string from_to(const study::Change& change, bool back) {
    using enum study::ChangeKind;
    const std::string& from = back ? change.after : change.before;
    const std::string& to = back ? change.before : change.after;
    if (names_itself(change.kind)) return from + " -> " + to;
    if (change.kind == revoiced) return all_of(change.holds) + " (" + change.after + ')';
    if (change.kind == erases || change.kind == returns_to) return change.after;
    if (change.kind == parameter_added || change.kind == parameter_removed)
        return change.before.empty() ? change.after : change.before;
    const bool group = change.kind == group_added || change.kind == group_removed;
    if (group) return change.holds.empty() ? std::string() : "with " + some_of(change.holds);
    if (from.empty() || to.empty()) return from + to;
    return from + " -> " + to;
}

std::string words_of(const study::Change& change, const std::vector<std::string>& subjects, bool back) {
    std::string text(study::row_of(change.kind).words);
    if (!names_itself(change.kind)) text += ' ' + some_of(subjects);
    if (!change.where.empty()) text += ", " + change.where;
    const std::string rest = from_to(change, back);
    if (!rest.empty()) text += (names_itself(change.kind) ? " " : ": ") + rest;
    return text;
}

/// A subject with the other parameters that have the same choices.
std::vector<std::string> subjects_of(const study::Change& change) {
    std::vector<std::string> subjects{change.subject};
    subjects.insert(subjects.end(), change.also.begin(), change.also.end());
    return subjects;
}

const study::Way& way_of(const study::Change& change, bool back) {
    return back ? change.back : change.forward;
}

bool is_new_choice(study::ChangeKind kind) {
    return kind == study::ChangeKind::choice_added || kind == study::ChangeKind::choice_inserted;
}

/// What a new choice becomes, without its label: "the default" of "Gale 50: the default".
std::string fate_of(const study::Change& change, bool back) {
    const std::string& words = way_of(change, back).words;
    const std::string label = change.holds.front() + ": ";
    return words.starts_with(label) ? words.substr(label.size()) : words;
}

/// Whether two new choices of the same parameters fare alike.
bool choices_alike(const study::Change& a, const study::Change& b, bool back) {
    if (a.subject != b.subject || a.kind != b.kind || a.releases != b.releases) return false;
    if (!a.suggestion.empty() || !b.suggestion.empty()) return false;
    return a.kind == study::ChangeKind::choice_inserted || fate_of(a, back) == fate_of(b, back);
}

/// Whether two are the same but for their subject. What has content of its own stands alone.
bool alike(const study::Change& a, const study::Change& b, bool back) {
    const auto parts = [&](const study::Change& change) {
        const study::Way& way = way_of(change, back);
        return std::tie(change.kind, change.where, change.before, change.after, way.effect, way.words, change.releases);
    };
    if (is_new_choice(a.kind)) return choices_alike(a, b, back);
    using enum study::ChangeKind;
    const bool alone = names_itself(a.kind) || !a.holds.empty() || !a.suggestion.empty() || !b.suggestion.empty() ||
                       a.kind == parameter_added || a.kind == parameter_removed || a.kind == place;
    return !alone && parts(a) == parts(b);
}

const study::WayUse& use_of(const ChangesReport& report, bool back) {
    return back ? report.use->back : report.use->forward;
}

bool narrows(const study::Change& change, bool back) {
    using enum study::Effect;
    const study::Effect effect = way_of(change, back).effect;
    return change.kind == study::ChangeKind::range &&
           (effect == clamped || effect == reset || effect == out_of_range || effect == unsure);
}

/// "hold more", "hold what lies beyond it", "change by it".
std::string verb_of(const study::Change& change, bool back, bool one) {
    if (!narrows(change, back)) return one ? "changes by it" : "change by it";
    const study::Ends ends = back ? change.back_ends : change.forward_ends;
    const std::string hold = one ? "holds " : "hold ";
    if (ends.least == ends.most) return hold + "what lies beyond";
    return hold + (ends.most ? "more" : "less");
}

std::string touched_words(const ChangesReport& report, const std::vector<std::size_t>& changes, bool back) {
    if (!report.use) return {};
    const study::WayUse& way = use_of(report, back);
    const study::Change& first = report.changes[changes.front()];
    if (way.presets.empty() || !study::touches_presets(first.kind)) return {};
    std::set<std::size_t> presets, audible, without, beyond;
    for (const std::size_t change : changes) {
        const study::ChangeUse& use = way.changes[change];
        presets.insert(use.presets.begin(), use.presets.end());
        audible.insert(use.audible.begin(), use.audible.end());
        without.insert(use.without.begin(), use.without.end());
        beyond.insert(use.beyond.begin(), use.beyond.end());
    }
    if (!narrows(first, back)) beyond = presets;
    std::erase_if(without, [&](std::size_t preset) { return presets.contains(preset); });
    const std::size_t all = way.presets.size(), refused = way.refused_but(presets);
    const auto told = std::ranges::count_if(audible, [&](std::size_t preset) { return beyond.contains(preset); });
    std::string text = std::to_string(beyond.size()) + " of " + report::presets(all) + ' ' +
                       verb_of(first, back, beyond.size() == 1 || all == 1);
    if (!beyond.empty()) text += ", " + std::to_string(told) + " audibly";
    if (const std::size_t others = presets.size() - beyond.size(); others > 0)
        text += "; " + std::to_string(others) + (others == 1 ? " more changes" : " more change") +
                " by it, where a pedal or controller reaches another value";
    text += "; " + std::to_string(all - presets.size() - refused) + " unaffected";
    if (!without.empty())
        text += " (" + std::to_string(without.size()) + " of them " + (without.size() == 1 ? "holds" : "hold") +
                " it where it makes no difference)";
    if (refused > 0) text += "; " + std::to_string(refused) + " refused for another reason";
    return text;
}

/// Several new choices of the same parameters.
ChangeLine choices_line(const ChangesReport& report, const std::vector<std::size_t>& changes, bool back) {
    const study::Change& first = report.changes[changes.front()];
    const bool inserted = first.kind == study::ChangeKind::choice_inserted;
    std::string labels, fates;
    for (const std::size_t i : changes) {
        const study::Change& change = report.changes[i];
        labels += (labels.empty() ? "" : ", ") + change.after;
        const std::string words = way_of(change, back).words;
        fates += (fates.empty() ? "" : "; ") + words.substr(0, words.find("; "));
    }
    std::string words = inserted && back ? fates : fate_of(first, back);
    const std::size_t others = way_of(first, back).words.find("; ");
    if (inserted && back && others != std::string::npos) words += way_of(first, back).words.substr(others);
    if (!inserted && back) words = "each: " + words;
    return {changes,
            std::string(inserted ? "inserted" : "new") + " choices of " + some_of(subjects_of(first)) + ": " + labels,
            words,
            all_of(first.releases),
            touched_words(report, changes, back),
            {}};
}

}  // namespace

std::string change_words(const study::Change& change, bool back) {
    return words_of(change, subjects_of(change), back);
}

std::vector<EffectLines> lines_of(const ChangesReport& report, bool back) {
    std::vector<EffectLines> all;
    for (std::size_t effect = 0; effect < study::effect_count; ++effect) {
        EffectLines lines;
        lines.effect = static_cast<study::Effect>(effect);
        std::vector<std::vector<std::size_t>> together;
        for (std::size_t i = 0; i < report.changes.size(); ++i) {
            const study::Change& change = report.changes[i];
            if (way_of(change, back).effect != lines.effect) continue;
            const auto at = std::find_if(together.begin(), together.end(), [&](const std::vector<std::size_t>& others) {
                return alike(report.changes[others.front()], change, back);
            });
            if (at != together.end())
                at->push_back(i);
            else
                together.push_back({i});
        }
        for (const std::vector<std::size_t>& changes : together) {
            const study::Change& first = report.changes[changes.front()];
            std::vector<std::string> subjects;
            for (const std::size_t i : changes) {
                for (std::string& subject : subjects_of(report.changes[i])) subjects.push_back(std::move(subject));
            }
            if (is_new_choice(first.kind) && changes.size() > 1) {
                lines.lines.push_back(choices_line(report, changes, back));
                continue;
            }
            ChangeLine line{changes,
                            words_of(first, subjects, back),
                            way_of(first, back).words,
                            all_of(first.releases),
                            touched_words(report, changes, back),
                            {}};
            if (!first.suggestion.empty()) line.notes.push_back(first.suggestion);
            lines.lines.push_back(std::move(line));
        }
        // At equal effect what more presets have comes first.
        if (report.use) {
            const study::WayUse& way = use_of(report, back);
            const auto count = [&](const ChangeLine& line) {
                std::set<std::size_t> presets;
                for (const std::size_t change : line.changes)
                    presets.insert(way.changes[change].presets.begin(), way.changes[change].presets.end());
                return presets.size();
            };
            std::stable_sort(lines.lines.begin(), lines.lines.end(),
                             [&](const ChangeLine& a, const ChangeLine& b) { return count(a) > count(b); });
        }
        if (!lines.lines.empty()) all.push_back(std::move(lines));
    }
    return all;
}

std::string use_words(const ChangesReport& report, bool back) {
    if (!report.use) return {};
    const study::WayUse& way = use_of(report, back);
    if (way.presets.empty()) return "None of the presets goes this way.";
    using compat::Verdict;
    std::string text = presets(way.presets.size()) + (way.presets.size() == 1 ? " goes" : " go") +
                       " this way: " + std::to_string(way.of(Verdict::intact)) + " intact, " +
                       std::to_string(way.of(Verdict::near)) + " near, " + std::to_string(way.of(Verdict::altered)) +
                       " altered, " + std::to_string(way.of(Verdict::refused)) + " refused, " +
                       std::to_string(way.of(Verdict::undecided)) + " undecided";
    if (way.damaged() > 0) text += ", " + std::to_string(way.damaged()) + " damaged";
    return text + '.';
}

std::vector<std::string> apart_words(const ChangesReport& report) {
    std::vector<std::string> all;
    if (!report.use) return all;
    if (report.use->outside > 0)
        all.push_back(presets(report.use->outside) + " saved on other releases: not counted here.");
    if (report.use->damaged > 0)
        all.push_back(presets(report.use->damaged) +
                      " damaged in the file: not counted here; read the dump once more.");
    return all;
}

std::vector<std::string> other_words(const ChangesReport& report, bool back) {
    std::vector<std::string> all;
    if (!report.use) return all;
    // Those of one block that fare alike, in as many presets, are told together.
    std::vector<std::pair<const study::Unexplained*, std::vector<std::string>>> together;
    for (const study::Unexplained& one : use_of(report, back).others) {
        const auto at = std::find_if(together.begin(), together.end(), [&](const auto& other) {
            return other.first->outcome == one.outcome && other.first->presets == one.presets &&
                   block_of(other.first->parameter) == block_of(one.parameter);
        });
        if (at != together.end())
            at->second.push_back(one.parameter);
        else
            together.push_back({&one, {one.parameter}});
    }
    for (const auto& [one, parameters] : together) {
        all.push_back(some_of(parameters) + ": " + std::string(compat::row_of(one->outcome).name) + " in " +
                      presets(one->presets));
    }
    return all;
}

}  // namespace downfit::report
