#include <algorithm>
#include <set>

#include "schema/instances.h"
#include "schema/words.h"
#include "study/comparing.h"

namespace downfit::study {

namespace {

/// Whole and real numbers differ only in how they are stored.
schema::Kind class_of(schema::Kind kind) {
    return kind == schema::Kind::real ? schema::Kind::whole : kind;
}

std::string number_words(const std::optional<std::int64_t>& number) {
    return number ? std::to_string(*number) : "none";
}

std::string width_words(const Parameter& parameter) {
    constexpr std::array<std::string_view, 7> codings{"unsigned", "two's complement", "offset", "sign and magnitude",
                                                      "float",    "double",           "text"};
    const schema::Storage& storage = parameter.storage;
    if (storage.coding == schema::Coding::text) return std::to_string(storage.text_length) + " characters";
    return std::to_string(storage.width()) + (storage.width() == 1 ? " bit, " : " bits, ") +
           std::string(codings[static_cast<std::size_t>(storage.coding)]);
}

/// All bits of a storage as numbers 8 * byte + bit.
std::set<std::int64_t> bit_numbers(const schema::Storage& storage) {
    std::set<std::int64_t> bits;
    if (storage.notation != schema::Notation::bytes) return bits;
    if (storage.coding == schema::Coding::text) {
        for (std::int64_t bit = 0; bit < static_cast<std::int64_t>(storage.text_length) * 8; ++bit)
            bits.insert(storage.text_at * 8 + bit);
    }
    for (const schema::BitPiece& piece : storage.pieces) {
        for (int bit = piece.bit; bit < piece.bit + piece.width; ++bit) bits.insert(piece.byte * 8 + bit);
    }
    return bits;
}

bool is_switch_of_block(const Release& release, const Parameter& parameter) {
    return std::any_of(release.groups.begin(), release.groups.end(),
                       [&](const Group& group) { return group.on_by == parameter.id; });
}

class Parameters {
public:
    explicit Parameters(Comparing& comparing) : comparing_(comparing) {}

    void compare() {
        for (const Parameter& newer : comparing_.newer.parameters) {
            const Parameter* older = comparing_.older_parameter(newer.meaning);
            if (older) {
                compare(*older, newer);
            } else if (!in_new_group(newer)) {
                add_one(newer, comparing_.newer, comparing_.older, true);
            }
        }
        for (const Parameter& older : comparing_.older.parameters) {
            if (!comparing_.newer_parameter(older.meaning) && !in_gone_group(older))
                add_one(older, comparing_.older, comparing_.newer, false);
        }
    }

private:
    /// What comes or goes with its group is told with the group.
    [[nodiscard]] bool in_new_group(const Parameter& parameter) const {
        if (parameter.group < 0) return false;
        return !comparing_.older_group(comparing_.newer.groups[static_cast<std::size_t>(parameter.group)].meaning);
    }
    [[nodiscard]] bool in_gone_group(const Parameter& parameter) const {
        if (parameter.group < 0) return false;
        return !comparing_.newer_group(comparing_.older.groups[static_cast<std::size_t>(parameter.group)].meaning);
    }

    /// The group's meaning, or nothing outside all groups.
    static std::string group_of(const Release& release, const Parameter& parameter) {
        return parameter.group < 0 ? std::string() : release.groups[static_cast<std::size_t>(parameter.group)].meaning;
    }

    /// Another parameter of a release that stands in the bits of this one, in the same group.
    static const Parameter* under(const Release& release, const Parameter& parameter, const Release& of) {
        const std::set<std::int64_t> bits = bit_numbers(parameter.storage);
        const std::string group = group_of(of, parameter);
        for (const Parameter& other : release.parameters) {
            const bool named = stands_by_name(parameter) && stands_by_name(other) && parameter.path;
            if (named && other.meaning != parameter.meaning && other.path == parameter.path &&
                group_of(release, other) == group)
                return &other;
            if (other.meaning == parameter.meaning || other.tag != parameter.tag || group_of(release, other) != group)
                continue;
            if (other.scope != parameter.scope) continue;
            const std::set<std::int64_t> there = bit_numbers(other.storage);
            if (std::any_of(there.begin(), there.end(), [&](std::int64_t bit) { return bits.contains(bit); }))
                return &other;
        }
        return nullptr;
    }

    void add_one(const Parameter& parameter, const Release& has, const Release& lacks, bool added) {
        Change& change =
            comparing_.add(added ? ChangeKind::parameter_added : ChangeKind::parameter_removed, parameter.meaning,
                           parameter.id, added ? "" : place_words(parameter), added ? place_words(parameter) : "");
        change.place = parameter.place;
        change.touches = {parameter.meaning};
        Way to_lacking{Effect::lost, "it has nowhere to go"};
        const auto unknown = lacks.rules[schema::Rule::unknown_parameter];
        const bool named = stands_by_name(parameter);
        if ((parameter.tag || named) && unknown == schema::Action::refuse) {
            to_lacking = {refusal_of(lacks, nullptr), named ? "a name that is not known there is refused"
                                                            : "a record that is not known there is refused"};
        }
        if (parameter.plain.neutral)
            to_lacking.words += "; at " + setting_words(parameter.plain.neutral, parameter.plain, parameter) +
                                " that makes no difference";
        Way to_having{Effect::added, "new there"};
        if (parameter.scope == schema::Scope::unit)
            to_lacking = to_having = {Effect::nothing, "a setting of the unit"};
        else if (const Parameter* other = under(lacks, parameter, has)) {
            to_having = {Effect::displaced, "read from where " + other->id + " is stored"};
            if (!comparing_.newer_parameter(other->meaning) || !comparing_.older_parameter(other->meaning))
                change.touches.push_back(other->meaning);
        }
        change.back = added ? to_lacking : to_having;
        change.forward = added ? to_having : to_lacking;
    }

    void compare(const Parameter& older, const Parameter& newer) {
        compare_name(older, newer);
        compare_storage(older, newer);
        if (class_of(older.kind) != class_of(newer.kind)) {
            both(comparing_.add(ChangeKind::value_kind, {}, older, newer,
                                std::string(schema::kind_words[static_cast<std::size_t>(older.kind)]),
                                std::string(schema::kind_words[static_cast<std::size_t>(newer.kind)])),
                 {Effect::swapped, "the same number is another kind of thing"});
        }
        compare_meanings(comparing_, older, older.plain, newer, newer.plain, {});
        compare_varied(older, newer);
        compare_condition(older, newer);
        compare_rules(older, newer);
        compare_codes(older, newer);
        compare_uses(older, newer);
    }

    static void both(Change& change, const Way& way) { change.back = change.forward = way; }

    void compare_name(const Parameter& older, const Parameter& newer) {
        if (older.id == newer.id || renamed_with_group(older, newer)) return;
        Change& change = comparing_.add(ChangeKind::parameter_renamed, {}, older, newer, older.id, newer.id);
        change.subject_before.clear();
        both(change, {Effect::nothing, "another name for the same thing"});
    }

    [[nodiscard]] bool renamed_with_group(const Parameter& older, const Parameter& newer) const {
        if (older.group < 0 || newer.group < 0) return false;
        const std::string& before = comparing_.older.groups[static_cast<std::size_t>(older.group)].path;
        const std::string& after = comparing_.newer.groups[static_cast<std::size_t>(newer.group)].path;
        return before != after && older.id.substr(before.size()) == newer.id.substr(after.size());
    }

    void compare_storage(const Parameter& older, const Parameter& newer) {
        compare_list(older, newer);
        if (older.reads.size() != newer.reads.size()) {
            Change& change = comparing_.add(ChangeKind::reads, {}, older, newer, std::to_string(older.reads.size()),
                                            std::to_string(newer.reads.size()));
            both(change, {Effect::nothing, "how it takes what other releases stored"});
        }
        if (stands_by_name(older) && stands_by_name(newer)) return compare_named_storage(comparing_, older, newer);
        if (older.storage == newer.storage && older.tag == newer.tag) return;
        const std::set<std::int64_t> before = bit_numbers(older.storage), after = bit_numbers(newer.storage);
        const bool wider = std::includes(after.begin(), after.end(), before.begin(), before.end());
        const bool narrower = std::includes(before.begin(), before.end(), after.begin(), after.end());
        const bool in_place = older.tag == newer.tag && (wider || narrower);
        if (width_words(older) != width_words(newer)) {
            Change& change =
                comparing_.add(ChangeKind::width, {}, older, newer, width_words(older), width_words(newer));
            change.forward = width_way(older, newer, comparing_.newer, in_place);
            change.back = width_way(newer, older, comparing_.older, in_place);
        }
        const bool moved = !in_place || first_bit(older) != first_bit(newer);
        if (place_words(older) == place_words(newer) || !moved ||
            (in_place && width_words(older) != width_words(newer)))
            return;
        Change& change = comparing_.add(ChangeKind::place, {}, older, newer, place_words(older), place_words(newer));
        change.forward = place_way(older, newer, comparing_.older, comparing_.newer);
        change.back = place_way(newer, older, comparing_.newer, comparing_.older);
    }

    static std::int64_t first_bit(const Parameter& parameter) {
        const auto bits = bit_numbers(parameter.storage);
        return bits.empty() ? 0 : *bits.begin();
    }

    static bool converts(const Parameter& saved, const Parameter& loading) {
        return std::any_of(loading.reads.begin(), loading.reads.end(),
                           [&](const schema::Read& read) { return read.storage == saved.storage; });
    }

    static Way width_way(const Parameter& saved, const Parameter& loading, const Release& release, bool in_place) {
        if (converts(saved, loading)) return {Effect::nothing, "the older place is read too"};
        if (saved.storage.coding == schema::Coding::text && loading.storage.coding == schema::Coding::text) {
            if (loading.storage.text_length >= saved.storage.text_length)
                return {Effect::nothing, "more characters than before"};
            const auto action = rule_of(release, &loading, schema::Rule::long_text);
            if (!action) return {Effect::unsure, "longer texts: nobody states what becomes of them (long-text)"};
            if (*action == schema::Action::refuse) return {refusal_of(release, &loading), "longer texts are refused"};
            return {Effect::cut, "longer texts are cut"};
        }
        if (!in_place) return {Effect::rescaled, "read in another width"};
        if (loading.storage.coding != saved.storage.coding)
            return {Effect::rescaled, "numbers that the two codings write alike only in part"};
        if (loading.storage.width() >= saved.storage.width())
            return {Effect::nothing, "more bits of the same number are read"};
        if (loading.kind == schema::Kind::on_off)
            return {is_switch_of_block(release, loading) ? Effect::woken : Effect::swapped,
                    "only the lower bits of the number are looked at"};
        const bool names = loading.kind == schema::Kind::choice || loading.kind == schema::Kind::reference;
        return {names ? Effect::swapped : Effect::rescaled, "only the lower bits of the number are looked at"};
    }

    static Way place_way(const Parameter& saved, const Parameter& loading, const Release& of, const Release& release) {
        if (converts(saved, loading)) return {Effect::nothing, "the older place is read too"};
        if (saved.tag != loading.tag) {
            const std::string group = group_of(release, loading);
            const bool known = std::any_of(
                release.parameters.begin(), release.parameters.end(),
                [&](const Parameter& one) { return one.tag == saved.tag && group_of(release, one) == group; });
            if (!known && release.rules[schema::Rule::unknown_parameter] == schema::Action::refuse)
                return {refusal_of(release, nullptr), "a record that is not known there is refused"};
            return {Effect::reset, "the other record is not there"};
        }
        const Parameter* other = under(of, loading, release);
        if (other) return {Effect::displaced, "read from where " + other->id + " is stored"};
        return {Effect::displaced, "read from bytes that mean nothing"};
    }

    void compare_list(const Parameter& older, const Parameter& newer) {
        if (older.list_count != newer.list_count) {
            Change& change = comparing_.add(ChangeKind::list_count, {}, older, newer, std::to_string(older.list_count),
                                            std::to_string(newer.list_count));
            change.kept = std::min(older.list_count, newer.list_count);
            const bool more = newer.list_count > older.list_count;
            const Way gone{Effect::lost, "values beyond the " + std::to_string(change.kept) + " have nowhere to go"};
            const Way fresh{Effect::added, "values beyond the " + std::to_string(change.kept) + " are new there"};
            change.back = more ? gone : fresh;
            change.forward = more ? fresh : gone;
        }
        if (older.list_count > 1 && newer.list_count > 1 && older.list_stride != newer.list_stride) {
            both(comparing_.add(ChangeKind::place, "stride", older, newer,
                                "every " + std::to_string(older.list_stride) + " bytes",
                                "every " + std::to_string(newer.list_stride) + " bytes"),
                 {Effect::displaced, "all but the first are read from other bytes"});
        }
    }

    void compare_varied(const Parameter& older, const Parameter& newer) {
        std::set<std::string> met;
        for (const schema::VariedMeaning& after : newer.varies) {
            const std::string key = condition_key(comparing_.newer, after.when);
            if (!met.insert(key).second) continue;
            const Meaning* before = &older.plain;
            for (const schema::VariedMeaning& other : older.varies) {
                if (condition_key(comparing_.older, other.when) == key) before = &other.meaning;
            }
            varied(older, *before, newer, after.meaning, condition_words(comparing_.newer, after.when), key);
        }
        for (const schema::VariedMeaning& before : older.varies) {
            const std::string key = condition_key(comparing_.older, before.when);
            if (met.insert(key).second)
                varied(older, before.meaning, newer, newer.plain, condition_words(comparing_.older, before.when), key);
        }
    }

    void varied(const Parameter& older, const Meaning& before, const Parameter& newer, const Meaning& after,
                const std::string& words, const std::string& key) {
        compare_meanings(comparing_, older, before, newer, after, "when " + words);
        const auto own = [](const Meaning& meaning, const Parameter& parameter) {
            return meaning.choices && meaning.choices != parameter.plain.choices;
        };
        if (!own(before, older) && !own(after, newer)) return;
        if (before.choices && after.choices && *before.choices == *after.choices) return;
        Change& change = comparing_.add(ChangeKind::variation, key, older, newer, "", "other choices");
        change.where = "when " + words;
        both(change, {Effect::swapped, "the same number may name something else"});
    }

    void compare_condition(const Parameter& older, const Parameter& newer) {
        const std::string before = older.when ? condition_key(comparing_.older, *older.when) : std::string();
        const std::string after = newer.when ? condition_key(comparing_.newer, *newer.when) : std::string();
        if (before == after) return;
        Change& change =
            comparing_.add(ChangeKind::condition, {}, older, newer, condition_words(comparing_.older, older.when),
                           condition_words(comparing_.newer, newer.when));
        change.forward = condition_way(older.when, newer.when);
        change.back = condition_way(newer.when, older.when);
    }

    /// Whether every setting of one comparison is also one of the other.
    static bool narrower(const schema::Condition& a, const schema::Condition& b) {
        const bool comparable = a.kind == schema::Condition::Kind::comparison && b.kind == a.kind &&
                                a.subject == b.subject && a.op == schema::Condition::Operator::is && b.op == a.op;
        return comparable && std::all_of(a.settings.begin(), a.settings.end(), [&](const schema::Setting& setting) {
                   return std::find(b.settings.begin(), b.settings.end(), setting) != b.settings.end();
               });
    }

    static Way condition_way(const std::optional<schema::Condition>& saved,
                             const std::optional<schema::Condition>& loading) {
        const Way fresh{Effect::added, "exists there where it did not"};
        if (!loading || (saved && narrower(*saved, *loading))) return fresh;
        return {Effect::lost, "does not exist there where it did"};
    }

    void compare_rules(const Parameter& older, const Parameter& newer) {
        for (const schema::RuleRow& row : schema::rule_table) {
            const auto before = older.rules[row.rule], after = newer.rules[row.rule];
            if (before == after) continue;
            const auto words = [](const std::optional<schema::Action>& action) {
                return action ? std::string(schema::action_name(*action)) : std::string("as the release has it");
            };
            Change& change = comparing_.add(ChangeKind::rule, std::string(row.name), older, newer,
                                            std::string(row.name) + ": " + words(before),
                                            std::string(row.name) + ": " + words(after));
            both(change, {Effect::nothing, "decides what becomes of what does not fit"});
            if (before == schema::Action::held || after == schema::Action::held) {
                (after == schema::Action::held ? change.forward : change.back) = {
                    Effect::unsure, "what a preset leaves out is what the unit held before"};
            }
        }
        if (older.rules.tolerance != newer.rules.tolerance || older.rules.refuses != newer.rules.refuses)
            comparing_.add(ChangeKind::rule, "more", older, newer, "tolerance or refusal", "another");
    }

    void compare_codes(const Parameter& older, const Parameter& newer) {
        const auto compare_one = [&](std::string_view name, const std::optional<std::int64_t>& before,
                                     const std::optional<std::int64_t>& after) {
            if (before == after) return;
            both(comparing_.add(ChangeKind::code, std::string(name), older, newer,
                                std::string(name) + ": " + number_words(before),
                                std::string(name) + ": " + number_words(after)),
                 {Effect::swapped, "the same number means something else"});
        };
        if (older.kind == schema::Kind::on_off && newer.kind == older.kind) compare_one("on", older.on, newer.on);
        compare_one("nothing", older.nothing, newer.nothing);
        compare_one("as-base", older.as_base, newer.as_base);
    }

    void compare_uses(const Parameter& older, const Parameter& newer) {
        if (older.refers_to != newer.refers_to || older.refers_by != newer.refers_by) {
            both(comparing_.add(ChangeKind::target, {}, older, newer, older.refers_to, newer.refers_to),
                 {Effect::swapped, "the same number points at something else"});
        }
        const std::string before = older.overrides.empty() ? "" : meaning_of(comparing_.older, older.overrides);
        const std::string after = newer.overrides.empty() ? "" : meaning_of(comparing_.newer, newer.overrides);
        if (before != after) {
            both(comparing_.add(ChangeKind::override_, {}, older, newer,
                                older.overrides.empty() ? "none" : older.overrides,
                                newer.overrides.empty() ? "none" : newer.overrides),
                 {Effect::swapped, "the same setting acts on something else"});
        }
        if (older.scope == newer.scope) return;
        Change& change = comparing_.add(ChangeKind::scope, {}, older, newer,
                                        std::string(schema::scope_words[static_cast<std::size_t>(older.scope)]),
                                        std::string(schema::scope_words[static_cast<std::size_t>(newer.scope)]));
        const auto way = [](schema::Scope saved, schema::Scope loading) -> Way {
            if (loading == schema::Scope::unit) return {Effect::reset, "the unit's own setting stays"};
            if (saved == schema::Scope::unit) return {Effect::added, "new in presets there"};
            return {Effect::swapped, "belongs to something else there"};
        };
        change.forward = way(older.scope, newer.scope);
        change.back = way(newer.scope, older.scope);
    }

    Comparing& comparing_;
};

}  // namespace

void compare_parameters(Comparing& comparing) {
    Parameters(comparing).compare();
}

}  // namespace downfit::study
