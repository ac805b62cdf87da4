#include <algorithm>

#include "base/text.h"
#include "schema/words.h"
#include "study/comparing.h"

namespace downfit::study {

namespace {

void both(Change& change, const Way& way) {
    change.back = change.forward = way;
}

/// A group that only one of the releases has, with what it holds: told once, for the outermost.
void add_one(Comparing& comparing, const Release& has, const Group& group, bool added) {
    Change& change =
        comparing.add(added ? ChangeKind::group_added : ChangeKind::group_removed, group.meaning, group.path, "", "");
    change.place = group.place;
    change.group = group.meaning;
    change.touches = comparing.inside(has, group.path);
    for (const Group& inner : has.groups) {
        if (inner.path.starts_with(group.path + '.')) change.holds.push_back(inner.path);
    }
    for (const Parameter& parameter : has.parameters) {
        if (parameter.id.starts_with(group.path + '.')) change.holds.push_back(parameter.id);
    }
    const std::string words =
        std::to_string(change.touches.size()) + (change.touches.size() == 1 ? " parameter" : " parameters");
    const Way gone{Effect::lost, "it has nowhere to go, and " + words + " with it"};
    const Way fresh{Effect::added, "new there, with " + words};
    change.back = added ? gone : fresh;
    change.forward = added ? fresh : gone;
}

std::string place_of(const Group& group) {
    if (group.named) return named_place_words(*group.named);
    std::string text = "byte " + std::to_string(group.at);
    if (group.count > 1 && group.stride != 0) text += ", every " + std::to_string(group.stride) + " bytes";
    if (group.tag) text = "records " + std::to_string(*group.tag) + ", " + text;
    return text;
}

class Groups {
public:
    explicit Groups(Comparing& comparing) : comparing_(comparing) {}

    void compare() {
        for (const Group& newer : comparing_.newer.groups) {
            const Group* older = comparing_.older_group(newer.meaning);
            if (older) {
                compare(*older, newer);
            } else if (newer.parent < 0 || comparing_.older_group(around(comparing_.newer, newer))) {
                add_one(comparing_, comparing_.newer, newer, true);
            }
        }
        for (const Group& older : comparing_.older.groups) {
            const bool gone = !comparing_.newer_group(older.meaning);
            if (gone && (older.parent < 0 || comparing_.newer_group(around(comparing_.older, older))))
                add_one(comparing_, comparing_.older, older, false);
        }
    }

private:
    static const std::string& around(const Release& release, const Group& group) {
        return release.groups[static_cast<std::size_t>(group.parent)].meaning;
    }

    void compare(const Group& older, const Group& newer) {
        compare_name(older, newer);
        compare_count(older, newer);
        if (older.kind != newer.kind) {
            both(comparing_.add(ChangeKind::group_kind, {}, older, newer,
                                std::string(schema::group_kind_words[static_cast<std::size_t>(older.kind)]),
                                std::string(schema::group_kind_words[static_cast<std::size_t>(newer.kind)])),
                 {Effect::woken, "whether it sounds is decided in another way"});
        }
        const bool stride = older.count > 1 && newer.count > 1 && older.stride != newer.stride;
        if (older.named != newer.named) {
            both(comparing_.add(ChangeKind::group_place, {}, older, newer, place_of(older), place_of(newer)),
                 {Effect::lost, "what is not found there does not exist"});
        } else if (older.at != newer.at || older.tag != newer.tag || stride || older.records != newer.records) {
            both(comparing_.add(ChangeKind::group_place, {}, older, newer, place_of(older), place_of(newer)),
                 {Effect::displaced, "all of it is read from other bytes"});
        }
        compare_condition(older, newer);
        compare_controls(older, newer);
        compare_version(older, newer);
        compare_cost(older, newer);
    }

    void compare_name(const Group& older, const Group& newer) {
        if (older.path == newer.path) return;
        const bool with_outer = older.parent >= 0 && newer.parent >= 0 &&
                                comparing_.older.groups[static_cast<std::size_t>(older.parent)].path !=
                                    comparing_.newer.groups[static_cast<std::size_t>(newer.parent)].path &&
                                older.path.substr(older.path.rfind('.')) == newer.path.substr(newer.path.rfind('.'));
        if (with_outer) return;
        Change& change = comparing_.add(ChangeKind::group_renamed, {}, older, newer, older.path, newer.path);
        change.subject_before.clear();
        change.touches.clear();
        both(change, {Effect::nothing, "another name for the same thing"});
    }

    void compare_count(const Group& older, const Group& newer) {
        if (older.count != newer.count) {
            Change& change = comparing_.add(ChangeKind::group_count, {}, older, newer, std::to_string(older.count),
                                            std::to_string(newer.count));
            change.kept = std::min(older.count, newer.count);
            const std::string beyond = "beyond the " + std::to_string(change.kept);
            const Way gone{Effect::lost, "those " + beyond + " have nowhere to go"};
            const Way fresh{Effect::added, "those " + beyond + " are new there"};
            const bool more = newer.count > older.count;
            change.back = more ? gone : fresh;
            change.forward = more ? fresh : gone;
        }
        const auto by = [](const Release& release, const Group& group) {
            return group.count_by_length    ? std::string("the length")
                   : group.count_by.empty() ? std::string()
                                            : meaning_of(release, group.count_by);
        };
        if (by(comparing_.older, older) != by(comparing_.newer, newer)) {
            both(comparing_.add(ChangeKind::group_control, "count-by", older, newer,
                                "counted by " + named(older.count_by), "counted by " + named(newer.count_by)),
                 {Effect::lost, "how many there are is decided in another way"});
        }
    }

    void compare_condition(const Group& older, const Group& newer) {
        const std::string before = older.when ? condition_key(comparing_.older, *older.when) : std::string();
        const std::string after = newer.when ? condition_key(comparing_.newer, *newer.when) : std::string();
        if (before == after) return;
        Change& change =
            comparing_.add(ChangeKind::group_condition, {}, older, newer, condition_words(comparing_.older, older.when),
                           condition_words(comparing_.newer, newer.when));
        const auto way = [](bool always) -> Way {
            if (always) return {Effect::added, "exists there where it did not"};
            return {Effect::lost, "does not exist there where it did"};
        };
        change.forward = way(!newer.when);
        change.back = way(!older.when);
    }

    static std::string named(const std::string& id) { return id.empty() ? "none" : id; }

    void compare_controls(const Group& older, const Group& newer) {
        struct Control {
            std::string_view name;
            std::string Group::*id;
            Effect effect;
        };
        constexpr std::array<Control, 6> controls{{{"on-by", &Group::on_by, Effect::woken},
                                                   {"selected-by", &Group::selected_by, Effect::swapped},
                                                   {"start-by", &Group::start_by, Effect::swapped},
                                                   {"controls", &Group::controls, Effect::swapped},
                                                   {"heel", &Group::heel, Effect::rescaled},
                                                   {"toe", &Group::toe, Effect::rescaled}}};
        for (const Control& control : controls) {
            const std::string before = meaning_of(comparing_.older, older.*control.id);
            const std::string after = meaning_of(comparing_.newer, newer.*control.id);
            if (before == after) continue;
            both(comparing_.add(ChangeKind::group_control, std::string(control.name), older, newer,
                                std::string(control.name) + ": " + named(older.*control.id),
                                std::string(control.name) + ": " + named(newer.*control.id)),
                 {control.effect, "another parameter decides"});
        }
        if (older.role == newer.role) return;
        both(comparing_.add(ChangeKind::group_control, "role", older, newer, "role: " + named(older.role),
                            "role: " + named(newer.role)),
             {Effect::nothing, "whether losing it carries a caution"});
    }

    void compare_version(const Group& older, const Group& newer) {
        if (older.version_at_most == newer.version_at_most) return;
        const auto words = [](const Group& group) {
            return group.version_at_most ? std::to_string(*group.version_at_most) : std::string("any");
        };
        Change& change = comparing_.add(ChangeKind::group_version, {}, older, newer, words(older), words(newer));
        const auto way = [](const Group& saved, const Group& loading) -> Way {
            const bool takes = !loading.version_at_most ||
                               (saved.version_at_most && *saved.version_at_most <= *loading.version_at_most);
            if (takes) return {Effect::nothing, "all older versions are taken"};
            const bool part = loading.version_refuses == schema::Refuses::block ||
                              loading.version_refuses == schema::Refuses::parameter;
            return {part ? Effect::lost : Effect::refused, "newer versions of its record are refused"};
        };
        change.forward = way(older, newer);
        change.back = way(newer, older);
    }

    void compare_cost(const Group& older, const Group& newer) {
        const auto words = [](const Group& group) {
            return group.cost ? number_text(group.cost->plain) + (group.cost->costs.empty() ? "" : " and by model")
                              : std::string("none");
        };
        const bool same =
            older.cost.has_value() == newer.cost.has_value() &&
            (!older.cost ||
             (older.cost->plain == newer.cost->plain && older.cost->costs.size() == newer.cost->costs.size() &&
              std::equal(older.cost->costs.begin(), older.cost->costs.end(), newer.cost->costs.begin(),
                         [](const auto& a, const auto& b) { return a.second == b.second; })));
        if (same) return;
        both(comparing_.add(ChangeKind::group_cost, {}, older, newer, words(older), words(newer)),
             {Effect::nothing, "decides whether all blocks can run at once"});
    }

    Comparing& comparing_;
};

}  // namespace

void compare_groups(Comparing& comparing) {
    Groups(comparing).compare();
}

}  // namespace downfit::study
