// What changed in how parameters and groups are found by name, in JSON and XML dumps; and in single layouts.
#include <algorithm>
#include <array>
#include <set>
#include <tuple>

#include "study/comparing.h"

namespace downfit::study {

namespace {

using schema::Notation;
using schema::Rule;
using schema::Storage;

bool by_name(const Parameter& parameter) {
    return parameter.storage.notation != Notation::bytes;
}

std::string path_of(const Parameter& parameter) {
    return by_name(parameter) ? parameter.path.value_or("") : std::string();
}

/// What becomes of a value that is not where the release looks for it.
Way missing_way(const Release& release, const Parameter& parameter) {
    const auto action = rule_of(release, &parameter, Rule::missing_parameter);
    if (!action) return {Effect::unsure, "nobody states what becomes of what is missing (missing-parameter)"};
    if (*action == schema::Action::held) return {Effect::unsure, "it is not there: what the unit held before"};
    return {Effect::reset, "it is not there: set to the default"};
}

/// What becomes of a text that names no choice there.
Way unknown_text(const Release& release, const Parameter& parameter) {
    const auto action = rule_of(release, &parameter, Rule::unknown_choice);
    if (action == schema::Action::clamp) return {Effect::reset, "a text that is not known there: the first choice"};
    return unknown_choice(release, parameter, "a text that is not known there");
}

bool finds(const Release& release, const Parameter& saved) {
    return std::ranges::any_of(release.parameters, [&](const Parameter& one) {
        return one.path == saved.path && one.group == saved.group && by_name(one);
    });
}

Way path_way(const Release& of, const Parameter& saved, const Release& release, const Parameter& loading) {
    if (path_of(loading).empty()) return {Effect::lost, "it is not stored there"};
    if (path_of(saved).empty()) return {Effect::added, "it is not stored where it comes from"};
    for (const Parameter& other : of.parameters) {
        const bool here = by_name(other) && other.path == loading.path && other.group == loading.group;
        if (here && other.meaning != loading.meaning)
            return {Effect::displaced, "read from where " + other.id + " is stored"};
    }
    if (!finds(release, saved) && release.rules[Rule::unknown_parameter] == schema::Action::refuse)
        return {refusal_of(release, nullptr), "a name that is not known there is refused"};
    return missing_way(release, loading);
}

std::string form_words(const Parameter& parameter) {
    const Storage& storage = parameter.storage;
    if (storage.words) return "by text";
    switch (storage.coding) {
        case schema::Coding::float32: return "a number of 32 bits";
        case schema::Coding::text:
            return storage.text_length == 0 ? "text"
                                            : "text of at most " + std::to_string(storage.text_length) + " bytes";
        default: return "a number";
    }
}

Way form_way(const Parameter& saved, const Release& release, const Parameter& loading) {
    const Storage& from = saved.storage;
    const Storage& to = loading.storage;
    if (from.coding == schema::Coding::text && to.coding == from.coding) {
        if (to.text_length == 0 || (from.text_length > 0 && to.text_length >= from.text_length))
            return {Effect::nothing, "texts as long as before, or longer"};
        const auto action = rule_of(release, &loading, Rule::long_text);
        if (!action) return {Effect::unsure, "longer texts: nobody states what becomes of them (long-text)"};
        if (*action == schema::Action::refuse) return {refusal_of(release, &loading), "longer texts are refused"};
        return {Effect::cut, "longer texts are cut"};
    }
    if (to.words) return unknown_text(release, loading);
    const bool numbers = !from.words && from.coding != schema::Coding::text && to.coding != schema::Coding::text;
    if (!numbers) return missing_way(release, loading);
    if (to.coding == schema::Coding::float32) return {Effect::rounded, "kept no more exactly than that"};
    return {Effect::nothing, "kept at least as exactly"};
}

/// The text that stands for a number; empty for none.
std::string word_of(const Parameter& parameter, std::int64_t number) {
    const auto& words = *parameter.storage.words;
    const auto at = std::ranges::find(words, number, &schema::Word::number);
    return at == words.end() ? std::string() : at->text;
}

/// A label on both releases, and the texts that stand for it.
struct Written {
    std::string label, before, after;
};

std::vector<Written> written_otherwise(const Parameter& older, const Parameter& newer) {
    std::vector<Written> texts;
    const auto put = [&](const std::string& label, std::int64_t before, std::int64_t after) {
        Written one{label, word_of(older, before), word_of(newer, after)};
        if (one.before != one.after) texts.push_back(std::move(one));
    };
    if (older.kind == schema::Kind::on_off) {
        put("on", older.on, newer.on);
        put("off", older.on == 0 ? 1 : 0, newer.on == 0 ? 1 : 0);
    } else if (older.plain.choices && newer.plain.choices) {
        for (const schema::Choice& choice : newer.plain.choices->choices) {
            for (const schema::Choice& other : older.plain.choices->choices) {
                if (other.meaning == choice.meaning) put(choice.label, other.number, choice.number);
            }
        }
    }
    return texts;
}

/// What becomes of texts that are others there: some of them may stand for another label.
Way written_way(const std::vector<Written>& texts, bool to_newer, const Release& release, const Parameter& loading) {
    for (const Written& one : texts) {
        const std::string& text = to_newer ? one.before : one.after;
        const auto& words = *loading.storage.words;
        const auto at = std::ranges::find(words, text, &schema::Word::text);
        if (at == words.end()) continue;
        const schema::Choice* choice = loading.plain.choices ? loading.plain.choices->find(at->number) : nullptr;
        return {Effect::swapped,
                "\"" + text + "\" stands for " + (choice ? choice->label : "another setting") + " there"};
    }
    return unknown_text(release, loading);
}

void compare_written(Comparing& comparing, const Parameter& older, const Parameter& newer) {
    const std::vector<Written> texts = written_otherwise(older, newer);
    if (texts.empty()) return;
    std::string before, after;
    Change& change = comparing.add(ChangeKind::written, {}, older, newer, {}, {});
    for (const Written& one : texts) {
        change.holds.push_back(one.label);
        before += (before.empty() ? "\"" : ", \"") + one.before + '"';
        after += (after.empty() ? "\"" : ", \"") + one.after + '"';
    }
    change.before = std::move(before);
    change.after = std::move(after);
    change.forward = written_way(texts, true, comparing.newer, newer);
    change.back = written_way(texts, false, comparing.older, older);
}

bool tells_storage(ChangeKind kind) {
    constexpr std::array kinds{ChangeKind::place, ChangeKind::width,       ChangeKind::written,
                               ChangeKind::scale, ChangeKind::group_place, ChangeKind::code};
    return std::ranges::find(kinds, kind) != kinds.end();
}

/// The changes of one layout that hold for it alone.
void add_of_layout(Comparing& comparing, const std::string& layout, std::vector<Change> changes,
                   const std::set<std::tuple<std::string, std::string, std::string>>& told) {
    for (Change& change : changes) {
        if (!tells_storage(change.kind) || told.contains({change.key, change.before, change.after})) continue;
        // Where a scale changed for all layouts, that of one follows it.
        const bool follows = change.kind == ChangeKind::scale &&
                             std::ranges::any_of(told, [&](const auto& one) { return std::get<0>(one) == change.key; });
        if (follows) continue;
        change.key += "\nin " + layout;
        change.layout = layout;
        change.where += (change.where.empty() ? "in layout " : ", in layout ") + layout;
        comparing.changes.push_back(std::move(change));
    }
}

}  // namespace

bool stands_by_name(const Parameter& parameter) {
    return by_name(parameter);
}

std::string named_place_words(const schema::NamedPlace& place) {
    std::string text = '"' + place.path + '"';
    switch (place.by) {
        case schema::NamedBy::order: break;
        case schema::NamedBy::key: text += " by key"; break;
        case schema::NamedBy::name_before: text += " by the name before"; break;
        case schema::NamedBy::value: text += " by \"" + place.by_path + '"'; break;
    }
    for (std::size_t i = 0; i < place.keys.size(); ++i) text += (i == 0 ? ": " : ", ") + place.keys[i];
    if (!place.version_path.empty()) text += ", version at \"" + place.version_path + '"';
    return text;
}

void compare_named_storage(Comparing& comparing, const Parameter& older, const Parameter& newer) {
    if (path_of(older) != path_of(newer)) {
        Change& change = comparing.add(ChangeKind::place, {}, older, newer, place_words(older), place_words(newer));
        change.forward = path_way(comparing.older, older, comparing.newer, newer);
        change.back = path_way(comparing.newer, newer, comparing.older, older);
    }
    if (path_of(older).empty() || path_of(newer).empty()) return;
    if (form_words(older) != form_words(newer)) {
        Change& change = comparing.add(ChangeKind::width, {}, older, newer, form_words(older), form_words(newer));
        change.forward = form_way(older, comparing.newer, newer);
        change.back = form_way(newer, comparing.older, older);
    }
    if (older.storage.words && newer.storage.words) compare_written(comparing, older, newer);
}

void compare_layouts(Comparing& comparing) {
    std::set<std::tuple<std::string, std::string, std::string>> told;
    for (const Change& change : comparing.changes) told.emplace(change.key, change.before, change.after);
    for (std::size_t l = 0; l < comparing.newer.layouts.size() && l < comparing.older.layouts.size(); ++l) {
        const Release& older = comparing.older.in_layout(l);
        const Release& newer = comparing.newer.in_layout(l);
        if (&older == &comparing.older && &newer == &comparing.newer) continue;
        Comparing here(comparing.device, older, newer);
        compare_groups(here);
        compare_parameters(here);
        add_of_layout(comparing, comparing.newer.layouts[l].name, std::move(here.changes), told);
    }
}

}  // namespace downfit::study
