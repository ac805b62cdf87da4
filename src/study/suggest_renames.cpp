#include <algorithm>

#include "study/comparing.h"

namespace downfit::study {

namespace {

/// What two parameters must share to be perhaps one under two names: the place, and the shape of what is there.
bool alike(const Release& older, const Parameter& gone, const Release& newer, const Parameter& fresh) {
    const auto group = [](const Release& release, const Parameter& parameter) -> const Group* {
        return parameter.group < 0 ? nullptr : &release.groups[static_cast<std::size_t>(parameter.group)];
    };
    const Group* before = group(older, gone);
    const Group* after = group(newer, fresh);
    const bool same_group = before && after ? before->meaning == after->meaning ||
                                                  (before->at == after->at && before->tag == after->tag &&
                                                   before->kind == after->kind && before->named == after->named)
                                            : before == after;
    const auto& a = gone.plain;
    const auto& b = fresh.plain;
    const bool same_choices =
        a.choices && b.choices ? a.choices->choices.size() == b.choices->choices.size() : a.choices == b.choices;
    return same_group && gone.storage == fresh.storage && gone.path == fresh.path && gone.tag == fresh.tag &&
           gone.kind == fresh.kind && gone.scope == fresh.scope && a.scale == b.scale && a.unit == b.unit &&
           same_choices;
}

bool alike(const Group& gone, const Group& fresh) {
    return gone.at == fresh.at && gone.tag == fresh.tag && gone.kind == fresh.kind && gone.count == fresh.count &&
           gone.stride == fresh.stride && gone.named == fresh.named;
}

template <class T>
const T* by_name(const std::vector<T>& list, const std::string& name, std::string T::*id) {
    const auto at = std::find_if(list.begin(), list.end(), [&](const T& one) { return one.*id == name; });
    return at == list.end() ? nullptr : &*at;
}

void suggest(Change& gone, Change& fresh, std::string_view how) {
    if (!gone.suggestion.empty() || !fresh.suggestion.empty()) return;
    const std::string tail = std::string(how) + "; as long as nobody says so, one is gone and the other new";
    gone.suggestion = "perhaps " + fresh.subject + " is its new name: " + tail;
    fresh.suggestion = "perhaps the new name of " + gone.subject + ": " + tail;
}

bool choices_alike(const Change& gone, const Change& fresh) {
    if (gone.touches != fresh.touches || gone.holds.empty() || fresh.holds.empty()) return false;
    // "Label (7)": the same number. Choices that are found by their text have none.
    const auto number = [](const std::string& text) {
        const std::size_t at = text.ends_with(')') ? text.rfind(" (") : std::string::npos;
        return at == std::string::npos ? std::string() : text.substr(at);
    };
    return gone.before != gone.holds.front() && !number(gone.before).empty() &&
           number(gone.before) == number(fresh.after);
}

}  // namespace

void suggest_renames(Comparing& comparing) {
    for (Change& gone : comparing.changes) {
        for (Change& fresh : comparing.changes) {
            if (gone.kind == ChangeKind::parameter_removed && fresh.kind == ChangeKind::parameter_added) {
                const Parameter* before = comparing.older.find(gone.subject);
                const Parameter* after = comparing.newer.find(fresh.subject);
                if (before && after && alike(comparing.older, *before, comparing.newer, *after))
                    suggest(gone, fresh,
                            "it stands in the same place and has the same shape; \"renamed-from\" says so");
            } else if (gone.kind == ChangeKind::group_removed && fresh.kind == ChangeKind::group_added) {
                const Group* before = by_name(comparing.older.groups, gone.subject, &Group::path);
                const Group* after = by_name(comparing.newer.groups, fresh.subject, &Group::path);
                if (before && after && alike(*before, *after))
                    suggest(gone, fresh, "it stands in the same place; \"renamed-from\" says so");
            } else if (gone.kind == ChangeKind::choice_removed && fresh.kind == ChangeKind::choice_added) {
                if (!choices_alike(gone, fresh)) continue;
                const std::string was = gone.holds.front(), is = fresh.holds.front();
                if (!gone.suggestion.empty() || !fresh.suggestion.empty()) continue;
                gone.suggestion = "perhaps now called " + is + ": it has the same number; \"rename\" says so";
                fresh.suggestion = "perhaps another name of " + was + ": it has the same number; \"rename\" says so";
            }
        }
    }
}

}  // namespace downfit::study
