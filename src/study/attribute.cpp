#include "study/attribute.h"

#include <algorithm>
#include <set>

#include "schema/ids.h"

namespace downfit::study {

namespace {

using compat::Outcome;

void put(std::vector<std::size_t>& list, std::size_t one) {
    if (std::find(list.begin(), list.end(), one) == list.end()) list.push_back(one);
}

std::string plain(const std::string& id) {
    // "curve[3]": an element of a list.
    const std::string without = id.ends_with(']') ? id.substr(0, id.rfind('[')) : id;
    const auto steps = schema::parse_id(without);
    return steps ? schema::plain_id(*steps) : without;
}

/// The number of the instance of a group in an id: of "amp[2].alternate[3].drive" and "amp.alternate" 3. 1 without.
int index_of(const std::string& id, const std::string& path) {
    const auto steps = schema::parse_id(id.ends_with(']') ? id.substr(0, id.rfind('[')) : id);
    if (!steps) return 1;
    std::string so_far;
    for (const schema::IdStep& step : *steps) {
        so_far += (so_far.empty() ? "" : ".") + step.name;
        if (so_far == path) return std::max(step.index, 1);
    }
    return 1;
}

int element_of(const std::string& id) {
    if (!id.ends_with(']')) return 1;
    return std::atoi(id.c_str() + id.rfind('[') + 1);
}

bool is_choice(ChangeKind kind) {
    return kind == ChangeKind::choice_added || kind == ChangeKind::choice_inserted ||
           kind == ChangeKind::choice_removed || kind == ChangeKind::choices_moved;
}

bool is_coming_or_going(ChangeKind kind) {
    return kind == ChangeKind::group_added || kind == ChangeKind::group_removed || kind == ChangeKind::group_count ||
           kind == ChangeKind::group_condition || kind == ChangeKind::group_version ||
           kind == ChangeKind::parameter_added || kind == ChangeKind::parameter_removed ||
           kind == ChangeKind::list_count || kind == ChangeKind::condition || kind == ChangeKind::limit;
}

void add_asked(const schema::Condition& condition, std::set<std::string>& ids) {
    for (const schema::Condition& part : condition.parts) add_asked(part, ids);
    const bool about = condition.kind == schema::Condition::Kind::comparison &&
                       condition.subject == schema::Condition::Subject::parameter;
    if (about) ids.insert(plain(condition.name));
}

}  // namespace

Attribution::Attribution(const schema::Device& device, std::size_t saved, std::size_t loading,
                         const std::vector<Change>& changes)
    : saved_(*device.releases[saved].schema),
      loading_(*device.releases[loading].schema),
      back_(saved > loading),
      changes_(changes) {
    for (std::size_t i = 0; i < changes.size(); ++i) {
        for (const std::string& meaning : changes[i].touches) by_meaning_[meaning].push_back(i);
    }
}

const schema::Parameter* Attribution::parameter(const std::string& id, bool saved_side) const {
    return (saved_side ? saved_ : loading_).find(plain(id));
}

bool Attribution::has_effect(const Change& change) const {
    return (back_ ? change.back : change.forward).effect != Effect::nothing;
}

bool Attribution::comes_or_goes(const Change& change) const {
    const Effect effect = (back_ ? change.back : change.forward).effect;
    return effect == Effect::lost || effect == Effect::added;
}

bool Attribution::fits_outcome(const Change& change, Outcome outcome) const {
    const auto is = [&](std::initializer_list<ChangeKind> kinds) {
        return std::find(kinds.begin(), kinds.end(), change.kind) != kinds.end();
    };
    using enum ChangeKind;
    switch (outcome) {
        case Outcome::kept: return false;
        case Outcome::rounded: return is({step, width});
        case Outcome::clamped:
        case Outcome::out_of_range: return is({range, plays, scale, unit}) || is_choice(change.kind);
        case Outcome::reset:
            return is({range, scale, unit, scope, place, width, written, group_place, default_value, body_size,
                       variation}) ||
                   is_choice(change.kind);
        case Outcome::lost:
        case Outcome::added:
            return is_coming_or_going(change.kind) || is({scope}) || is_choice(change.kind) ||
                   (is({range, place, group_place}) && comes_or_goes(change));
        case Outcome::swapped:
            return is_choice(change.kind) ||
                   is({code, target, value_kind, override_, group_control, width, written, variation, asset});
        case Outcome::rescaled: return is({scale, unit, width, range, group_control});
        case Outcome::displaced: return is({place, width, group_place, parameter_added, parameter_removed});
        case Outcome::woken: return is({width, group_control, group_kind, code, place});
        case Outcome::unfilled: return is({asset, target});
        case Outcome::revoiced: return is({revoiced});
        case Outcome::cut: return is({width});
        case Outcome::unsure: return true;
    }
    return false;
}

bool Attribution::fits(const Change& change, const compat::Finding& finding, const std::string& id) const {
    if (change.kind == ChangeKind::group_count) {
        const auto& groups = saved_.groups;
        for (const schema::Group& group : groups) {
            if (group.meaning == change.group && index_of(id, group.path) > change.kept) return true;
        }
        for (const schema::Group& group : loading_.groups) {
            if (group.meaning == change.group && index_of(id, group.path) > change.kept) return true;
        }
        return false;
    }
    if (change.kind == ChangeKind::list_count) return element_of(id) > change.kept;
    // What a preset leaves out lies in no range.
    if (change.kind == ChangeKind::range && finding.outcome == Outcome::reset) return finding.saved_byte.has_value();
    if (is_choice(change.kind) || change.kind == ChangeKind::revoiced) {
        // Only where a label that it concerns is there.
        std::set<std::string> meanings;
        const auto add = [&](const std::optional<compat::Shown>& shown, const schema::Parameter* one) {
            if (!shown || !one || !one->plain.choices) return;
            const schema::Choice* choice = one->plain.choices->find(std::string_view(shown->value));
            if (choice) meanings.insert(choice->meaning);
        };
        add(finding.saved, parameter(finding.parameter, true));
        add(finding.loaded,
            parameter(finding.parameter_there.empty() ? finding.parameter : finding.parameter_there, false));
        if (meanings.empty()) return change.kind != ChangeKind::revoiced;
        return std::any_of(change.shifted.begin(), change.shifted.end(),
                           [&](const std::string& label) { return meanings.contains(label); });
    }
    return true;
}

std::vector<std::size_t> Attribution::of_parameter(const compat::Finding& finding, const std::string& id) const {
    const schema::Parameter* saved = parameter(id, true);
    const schema::Parameter* one = saved ? saved : parameter(id, false);
    std::vector<std::size_t> found;
    if (!one) return found;
    const auto at = by_meaning_.find(one->meaning);
    if (at == by_meaning_.end()) return found;
    for (const std::size_t i : at->second) {
        if (fits_outcome(changes_[i], finding.outcome) && has_effect(changes_[i]) && fits(changes_[i], finding, id))
            put(found, i);
    }
    return found;
}

/// Whatever changed about it, where nothing that fits better is there. What it holds has nothing to do with ranges and
/// choices then.
std::vector<std::size_t> Attribution::of_anything(const compat::Finding& finding) const {
    const schema::Parameter* saved = parameter(finding.parameter, true);
    const schema::Parameter* one = saved ? saved : parameter(finding.parameter, false);
    std::vector<std::size_t> found;
    const auto at = one ? by_meaning_.find(one->meaning) : by_meaning_.end();
    if (at == by_meaning_.end()) return found;
    for (const std::size_t i : at->second) {
        const ChangeKind kind = changes_[i].kind;
        const bool by_value = is_choice(kind) || kind == ChangeKind::revoiced || kind == ChangeKind::range;
        if (!by_value && has_effect(changes_[i]) && fits(changes_[i], finding, finding.parameter)) put(found, i);
    }
    return found;
}

/// Whether a number that decides how many there are was changed by its new range in this preset.
bool Attribution::is_counted_otherwise(const Change& range, const std::string& id,
                                       const compat::TargetCheck& check) const {
    return std::any_of(check.findings.begin(), check.findings.end(), [&](const compat::Finding& finding) {
        return plain(finding.parameter) == id && fits_outcome(range, finding.outcome);
    });
}

/// What decides whether a parameter exists may have changed.
std::vector<std::size_t> Attribution::of_conditions(const std::string& meaning,
                                                    const compat::TargetCheck& check) const {
    std::vector<std::size_t> found;
    for (const schema::Release* release : {&saved_, &loading_}) {
        std::set<std::string> ids;
        for (const schema::Parameter& one : release->parameters) {
            if (one.meaning != meaning) continue;
            if (one.when) add_asked(*one.when, ids);
            if (!one.count_by.empty()) ids.insert(plain(one.count_by));
            for (const schema::VariedMeaning& varied : one.varies) add_asked(varied.when, ids);
            for (int group = one.group; group >= 0; group = release->groups[static_cast<std::size_t>(group)].parent) {
                const schema::Group& around = release->groups[static_cast<std::size_t>(group)];
                if (around.when) add_asked(*around.when, ids);
                if (!around.count_by.empty()) ids.insert(plain(around.count_by));
            }
        }
        for (const std::string& id : ids) {
            const schema::Parameter* asked = release->find(id);
            const auto at = asked ? by_meaning_.find(asked->meaning) : by_meaning_.end();
            if (at == by_meaning_.end()) continue;
            for (const std::size_t i : at->second) {
                const bool counts =
                    changes_[i].kind != ChangeKind::range || is_counted_otherwise(changes_[i], id, check);
                if (has_effect(changes_[i]) && counts) put(found, i);
            }
        }
    }
    return found;
}

std::vector<std::size_t> Attribution::of_group(const std::string& id) const {
    const auto steps = schema::parse_id(id, true);
    const std::string path = steps ? schema::plain_id(*steps) : id;
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < changes_.size(); ++i) {
        const Change& change = changes_[i];
        const bool coming = is_coming_or_going(change.kind) && !change.group.empty();
        const bool around =
            path == change.subject || path == change.subject_before || path.starts_with(change.subject + '.');
        if (coming && around) put(found, i);
    }
    return found;
}

std::vector<std::size_t> Attribution::of(const compat::TargetCheck& check, std::size_t finding) const {
    std::vector<std::size_t> found = of(check, finding, 0);
    std::sort(found.begin(), found.end());
    return found;
}

std::vector<std::size_t> Attribution::of(const compat::TargetCheck& check, std::size_t number, int depth) const {
    constexpr int deepest = 8;
    const compat::Finding& finding = check.findings[number];
    std::vector<std::size_t> found = of_parameter(finding, finding.parameter);
    if (!found.empty() || depth == deepest) return found;
    if (finding.cause) {
        const compat::Cause& cause = check.causes[*finding.cause];
        if (cause.kind != compat::Cause::Kind::parameter) return of_group(cause.what);
        for (std::size_t i = 0; i < check.findings.size(); ++i) {
            if (i != number && check.findings[i].parameter == cause.what) {
                found = of(check, i, depth + 1);
                if (!found.empty()) return found;
            }
        }
    }
    const schema::Parameter* saved = parameter(finding.parameter, true);
    const schema::Parameter* one = saved ? saved : parameter(finding.parameter, false);
    if (one) found = of_conditions(one->meaning, check);
    return found.empty() ? of_anything(finding) : found;
}

}  // namespace downfit::study
