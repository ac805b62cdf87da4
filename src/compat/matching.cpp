#include "compat/matching.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

namespace downfit::compat {
namespace {

using List = std::vector<Matchable>;

bool is_filled(const Matchable& one) {
    return one.state != dump::SlotState::empty;
}

std::size_t filled(const List& list) {
    return static_cast<std::size_t>(std::count_if(list.begin(), list.end(), is_filled));
}

bool all_numbered(const List& list) {
    return std::all_of(list.begin(), list.end(), [](const Matchable& one) { return one.slot >= 0; });
}

bool slots_repeat(const List& list) {
    std::set<int> seen;
    return !std::all_of(list.begin(), list.end(),
                        [&](const Matchable& one) { return one.slot < 0 || seen.insert(one.slot).second; });
}

MatchBy choose(const List& first, const List& second) {
    if (filled(first) == 1 && filled(second) == 1) return MatchBy::alone;
    return all_numbered(first) && all_numbered(second) ? MatchBy::slot : MatchBy::name;
}

/// Takes partners out of the second list as they are found.
class Matcher {
public:
    Matcher(const List& first, const List& second, Matching& matching)
        : first_(first), second_(second), matching_(matching), taken_(second.size(), false) {
        for (std::size_t i = 0; i < first.size(); ++i) matching_.matches.push_back({i, std::nullopt});
    }

    template <class Key>
    void match_by(const Key& key) {
        std::multimap<decltype(key(first_.front())), std::size_t> open;
        for (std::size_t i = 0; i < second_.size(); ++i) open.emplace(key(second_[i]), i);
        for (Match& match : matching_.matches) {
            if (first_[*match.first].slot < 0) continue;
            const auto at = open.find(key(first_[*match.first]));
            if (at == open.end()) continue;
            take(match, at->second);
            open.erase(at);
        }
    }

    /// By name; of several with one name those in the same slot first, then in order.
    void match_by_name() {
        const auto usable = [](const Matchable& one) { return is_filled(one) && !one.name.empty(); };
        std::map<std::string, std::vector<std::size_t>> open;
        for (std::size_t i = 0; i < second_.size(); ++i) {
            if (usable(second_[i])) open[second_[i].name].push_back(i);
        }
        std::map<std::string, std::size_t> asked;
        for (const Matchable& one : first_) {
            if (usable(one)) ++asked[one.name];
        }
        for (const auto& [name, count] : asked) {
            const auto found = open.find(name);
            if (found != open.end() && (count > 1 || found->second.size() > 1)) ++matching_.shared_names;
        }
        for (const bool same_slot : {true, false}) {
            for (const bool alias : {false, true}) {
                for (Match& match : matching_.matches) take_named(match, open, same_slot, alias);
            }
        }
    }

    /// What stands alone: the only filled one of either list.
    void match_alone() {
        for (Match& match : matching_.matches) {
            if (!is_filled(first_[*match.first])) continue;
            for (std::size_t i = 0; i < second_.size(); ++i) {
                if (is_filled(second_[i])) return take(match, i);
            }
        }
    }

    void finish() {
        for (std::size_t i = 0; i < second_.size(); ++i) {
            if (!taken_[i]) matching_.matches.push_back({std::nullopt, i});
        }
        for (const Match& match : matching_.matches) {
            if (!match.first || !match.second) continue;
            const Matchable& a = first_[*match.first];
            const Matchable& b = second_[*match.second];
            if (!is_filled(a) || !is_filled(b) || a.name.empty() || b.name.empty()) continue;
            if (a.name != b.name && a.alias != b.name) ++matching_.other_names;
        }
    }

private:
    void take(Match& match, std::size_t second) {
        match.second = second;
        taken_[second] = true;
    }

    void take_named(Match& match, const std::map<std::string, std::vector<std::size_t>>& open, bool same_slot,
                    bool alias) {
        const Matchable& wanted = first_[*match.first];
        const std::string& name = alias ? wanted.alias : wanted.name;
        if (match.second || !is_filled(wanted) || name.empty()) return;
        const auto found = open.find(name);
        if (found == open.end()) return;
        for (const std::size_t i : found->second) {
            if (taken_[i] || (same_slot && second_[i].slot != wanted.slot)) continue;
            return take(match, i);
        }
    }

    const List& first_;
    const List& second_;
    Matching& matching_;
    std::vector<bool> taken_;  // of the second list
};

}  // namespace

std::string_view match_name(MatchBy by) {
    switch (by) {
        case MatchBy::slot: return "slot";
        case MatchBy::file_and_slot: return "file-and-slot";
        case MatchBy::name: return "name";
        case MatchBy::alone: break;
    }
    return "alone";
}

Matching match_presets(const std::vector<Matchable>& first, const std::vector<Matchable>& second,
                       std::optional<MatchBy> asked) {
    Matching matching;
    matching.by = asked.value_or(choose(first, second));
    if (matching.by == MatchBy::slot && (slots_repeat(first) || slots_repeat(second)))
        matching.by = MatchBy::file_and_slot;
    Matcher matcher(first, second, matching);
    switch (matching.by) {
        case MatchBy::slot: matcher.match_by([](const Matchable& one) { return one.slot; }); break;
        case MatchBy::file_and_slot:
            matcher.match_by([](const Matchable& one) { return std::pair(one.file, one.slot); });
            break;
        case MatchBy::name: matcher.match_by_name(); break;
        case MatchBy::alone: matcher.match_alone(); break;
    }
    matcher.finish();
    return matching;
}

}  // namespace downfit::compat
