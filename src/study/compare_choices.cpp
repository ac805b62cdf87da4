#include <algorithm>
#include <map>
#include <set>

#include "study/comparing.h"

namespace downfit::study {

namespace {

using schema::Choice;
using schema::ChoiceList;

/// One choice on both releases; either may be missing.
struct Pair {
    const Choice* before = nullptr;
    const Choice* after = nullptr;
};

/// How one list of choices became another.
struct Edits {
    std::vector<const Choice*> added, inserted, removed, closed;
    std::vector<Pair> renamed;
    std::vector<Pair> moved;  ///< among others: their order changed, or their number without a choice put in before
    std::map<const Choice*, std::vector<const Choice*>> shifted;  ///< by what was put in or closed: choices after it
};

std::vector<Pair> pairs_of(const ChoiceList& before, const ChoiceList& after) {
    std::map<std::string, const Choice*> by_meaning;
    for (const Choice& choice : after.choices) by_meaning.emplace(choice.meaning, &choice);
    std::vector<Pair> pairs;
    for (const Choice& choice : before.choices) {
        const auto at = by_meaning.find(choice.meaning);
        if (at != by_meaning.end()) pairs.push_back({&choice, at->second});
    }
    return pairs;
}

Edits edits_of(const ChoiceList& before, const ChoiceList& after) {
    Edits edits;
    const std::vector<Pair> common = pairs_of(before, after);  // in rising order of the number before
    const auto is_common = [&](const Choice& choice) {
        return std::any_of(common.begin(), common.end(),
                           [&](const Pair& pair) { return pair.before->meaning == choice.meaning; });
    };
    std::vector<const Choice*> fresh, gone;
    for (const Choice& choice : after.choices) {
        if (!is_common(choice)) fresh.push_back(&choice);
    }
    for (const Choice& choice : before.choices) {
        if (!is_common(choice)) gone.push_back(&choice);
    }
    std::vector<Pair> still;
    for (const Pair& pair : common) {
        if (pair.before->label != pair.after->label) edits.renamed.push_back(pair);
        const bool out_of_order = std::any_of(common.begin(), common.end(), [&](const Pair& other) {
            return (other.before->number < pair.before->number) != (other.after->number < pair.after->number) &&
                   other.before != pair.before;
        });
        (out_of_order ? edits.moved : still).push_back(pair);
    }
    // Between two that kept their order: what came in, what went, and by how much the later one moved against the
    // earlier. Those out of order leave one place and come to another.
    std::int64_t old_from = INT64_MIN, new_from = INT64_MIN, shift = 0;
    std::set<const Choice*> put_in;
    for (std::size_t i = 0; i <= still.size(); ++i) {
        const bool end = i == still.size();
        const std::int64_t old_to = end ? INT64_MAX : still[i].before->number;
        const std::int64_t new_to = end ? INT64_MAX : still[i].after->number;
        const auto in_old = [&](const Choice& choice) { return choice.number > old_from && choice.number < old_to; };
        const auto in_new = [&](const Choice& choice) { return choice.number > new_from && choice.number < new_to; };
        std::vector<const Choice*> came, went;
        std::copy_if(fresh.begin(), fresh.end(), std::back_inserter(came),
                     [&](const Choice* one) { return in_new(*one); });
        std::copy_if(gone.begin(), gone.end(), std::back_inserter(went),
                     [&](const Choice* one) { return in_old(*one); });
        std::int64_t arrived = 0, left = 0;
        for (const Pair& pair : edits.moved) {
            arrived += in_new(*pair.after) ? 1 : 0;
            left += in_old(*pair.before) ? 1 : 0;
        }
        const std::int64_t now = end ? shift : new_to - old_to;
        const std::int64_t growth = now - shift - (arrived - left);
        const auto count = [](const std::vector<const Choice*>& list) {
            return static_cast<std::int64_t>(list.size());
        };
        const bool inserts = !end && !came.empty() && (growth == count(came) || growth == count(came) - count(went));
        const bool closes = !end && !went.empty() && (growth == -count(went) || growth == count(came) - count(went));
        // As many came as went, and nothing moved: they took free numbers.
        const bool replaced = growth == 0;
        for (const Choice* one : came) (inserts && !replaced ? edits.inserted : edits.added).push_back(one);
        for (const Choice* one : went) (closes && !replaced ? edits.closed : edits.removed).push_back(one);
        if (!end && growth != 0 && !inserts && !closes) edits.moved.push_back(still[i]);
        shift = now;
        old_from = old_to;
        new_from = new_to;
    }
    for (const Choice* one : edits.inserted) {
        for (const Pair& pair : still) {
            if (pair.after->number > one->number && pair.after->number != pair.before->number)
                edits.shifted[one].push_back(pair.after);
        }
    }
    for (const Choice* one : edits.closed) {
        for (const Pair& pair : still) {
            if (pair.before->number > one->number && pair.after->number != pair.before->number)
                edits.shifted[one].push_back(pair.after);
        }
    }
    return edits;
}

/// Parameters that have the same list on both releases.
struct Sharing {
    std::vector<std::pair<const Parameter*, const Parameter*>> parameters;  // older, newer
};

class Choices {
public:
    explicit Choices(Comparing& comparing) : comparing_(comparing) {}

    void compare() {
        std::map<std::pair<const ChoiceList*, const ChoiceList*>, std::size_t> known;
        std::vector<Sharing> lists;
        for (const Parameter& newer : comparing_.newer.parameters) {
            const Parameter* older = comparing_.older_parameter(newer.meaning);
            if (!older || !older->plain.choices || !newer.plain.choices) continue;
            const auto key = std::pair(older->plain.choices.get(), newer.plain.choices.get());
            const auto at = known.emplace(key, lists.size()).first;
            if (at->second == lists.size()) lists.emplace_back();
            lists[at->second].parameters.emplace_back(older, &newer);
        }
        for (const Sharing& list : lists) compare(list);
    }

private:
    void compare(const Sharing& list) {
        const auto& [older, newer] = list.parameters.front();
        const Edits edits = edits_of(*older->plain.choices, *newer->plain.choices);
        if (older->storage.words && newer->storage.words) return compare_by_text(list, edits);
        for (const Choice* one : edits.added) added(list, *one);
        for (const Choice* one : edits.inserted) inserted(list, *one, edits);
        for (const Choice* one : edits.removed) removed(list, *one, edits, false);
        for (const Choice* one : edits.closed) removed(list, *one, edits, true);
        for (const Pair& pair : edits.renamed) {
            // A label that names a parameter follows that parameter's name.
            if (newer->refers_to == "parameter" &&
                meaning_of(comparing_.older, pair.before->label) == meaning_of(comparing_.newer, pair.after->label))
                continue;
            Change& change =
                put(ChangeKind::choice_renamed, list, pair.after->meaning, pair.before->label, pair.after->label);
            change.shifted = {pair.after->meaning};
            change.back = change.forward = {Effect::nothing, "another name for the same thing"};
        }
        if (!edits.moved.empty()) moved(list, edits);
    }

    /// Where choices are found by their text, numbers mean nothing.
    void compare_by_text(const Sharing& list, const Edits& edits) {
        const auto& [older, newer] = list.parameters.front();
        for (const std::vector<const Choice*>* some : {&edits.added, &edits.inserted}) {
            for (const Choice* one : *some) {
                Change& change = put(ChangeKind::choice_added, list, one->meaning, "", one->label);
                change.holds = {one->label};
                change.shifted = {one->meaning};
                change.back = unknown_text(comparing_.older, *older, one->label);
                change.forward = {Effect::nothing, "found by its text"};
            }
        }
        for (const std::vector<const Choice*>* some : {&edits.removed, &edits.closed}) {
            for (const Choice* one : *some) {
                Change& change = put(ChangeKind::choice_removed, list, one->meaning, one->label, "");
                change.holds = {one->label};
                change.shifted = {one->meaning};
                change.forward = unknown_text(comparing_.newer, *newer, one->label);
                change.back = {Effect::nothing, "no preset of the newer release has it"};
            }
        }
        for (const Pair& pair : edits.renamed) {
            Change& change =
                put(ChangeKind::choice_renamed, list, pair.after->meaning, pair.before->label, pair.after->label);
            change.shifted = {pair.after->meaning};
            change.back = change.forward = {Effect::nothing, "another name for the same thing"};
        }
    }

    /// The first choice is what a text that is not known is held to.
    static Way unknown_text(const Release& release, const Parameter& parameter, const std::string& what) {
        if (rule_of(release, &parameter, schema::Rule::unknown_choice) == schema::Action::clamp)
            return {Effect::reset, what + ": the first choice"};
        return unknown_choice(release, parameter, what);
    }

    Change& put(ChangeKind kind, const Sharing& list, const std::string& detail, std::string before,
                std::string after) {
        const auto& [older, newer] = list.parameters.front();
        Change& change = comparing_.add(kind, detail, *older, *newer, std::move(before), std::move(after));
        // Whether a release could put it in or only add it depends on what came between: the same change.
        if (kind == ChangeKind::choice_inserted || kind == ChangeKind::choice_added)
            change.key = "choice+\n" + newer->meaning + '\n' + detail;
        change.touches.clear();
        for (const auto& [first, second] : list.parameters) {
            change.touches.push_back(second->meaning);
            if (second != newer) change.also.push_back(second->id);
        }
        return change;
    }

    static std::string numbered(const Choice& choice) {
        return choice.label + " (" + std::to_string(choice.number) + ')';
    }

    void added(const Sharing& list, const Choice& one) {
        const auto& [older, newer] = list.parameters.front();
        Change& change = put(ChangeKind::choice_added, list, one.meaning, "", numbered(one));
        change.holds = {one.label};
        change.shifted = {one.meaning};
        change.back = to_lacking(comparing_.older, *older, one);
        change.forward = {Effect::nothing, "no other number moves"};
        if (const Choice* other = older->plain.choices->find(one.number)) change.shifted.push_back(other->meaning);
    }

    /// Going where the choice is not known: its number names another there, or nothing.
    static Way to_lacking(const Release& release, const Parameter& parameter, const Choice& one) {
        if (const Choice* other = parameter.plain.choices->find(one.number))
            return {Effect::swapped,
                    one.label + ": number " + std::to_string(one.number) + " is " + other->label + " there"};
        return unknown_choice(release, parameter, one.label);
    }

    void inserted(const Sharing& list, const Choice& one, const Edits& edits) {
        const auto& [older, newer] = list.parameters.front();
        Change& change = put(ChangeKind::choice_inserted, list, one.meaning, "", numbered(one));
        change.holds = {one.label};
        change.shifted = {one.meaning};
        const auto at = edits.shifted.find(&one);
        if (at == edits.shifted.end()) {  // what went elsewhere makes up for it
            change.back = to_lacking(comparing_.older, *older, one);
            return;
        }
        const std::vector<const Choice*>& shifted = at->second;
        for (const Choice* other : shifted) change.shifted.push_back(other->meaning);
        const std::string others = std::to_string(shifted.size()) + (shifted.size() == 1 ? " choice" : " choices");
        const Way own = to_lacking(comparing_.older, *older, one);
        change.back = {Effect::swapped, own.words + "; " + others + " after it, from " + shifted.front()->label +
                                            " on, each name another there"};
        change.forward = {Effect::swapped,
                          others + " after it, from " + shifted.front()->label + " on, each name another there"};
    }

    void removed(const Sharing& list, const Choice& one, const Edits& edits, bool closed) {
        const auto& [older, newer] = list.parameters.front();
        Change& change = put(ChangeKind::choice_removed, list, one.meaning, numbered(one), "");
        change.holds = {one.label};
        change.shifted = {one.meaning};
        change.forward = to_lacking(comparing_.newer, *newer, one);
        change.back = {Effect::nothing, "no preset of the newer release has it"};
        if (!closed) return;
        const auto at = edits.shifted.find(&one);
        if (at == edits.shifted.end() || at->second.empty()) return;
        for (const Choice* other : at->second) change.shifted.push_back(other->meaning);
        const std::string words = "the " + std::to_string(at->second.size()) + " after it, from " +
                                  at->second.front()->label + " on, each name another there";
        change.forward = {Effect::swapped, change.forward.words + "; " + words};
        change.back = {Effect::swapped, words};
    }

    void moved(const Sharing& list, const Edits& edits) {
        std::vector<Pair> pairs = edits.moved;
        std::sort(pairs.begin(), pairs.end(),
                  [](const Pair& a, const Pair& b) { return a.after->number < b.after->number; });
        std::string before, after;
        Change& change = put(ChangeKind::choices_moved, list, {}, {}, {});
        for (const Pair& pair : pairs) {
            change.holds.push_back(pair.after->label);
            change.shifted.push_back(pair.after->meaning);
            before += (before.empty() ? "" : ", ") + numbered(*pair.before);
            after += (after.empty() ? "" : ", ") + numbered(*pair.after);
        }
        change.before = before;
        change.after = after;
        change.back = change.forward = {Effect::swapped, "the same number names another there"};
    }

    Comparing& comparing_;
};

}  // namespace

void compare_choices(Comparing& comparing) {
    Choices(comparing).compare();
}

}  // namespace downfit::study
