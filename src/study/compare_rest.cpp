#include <algorithm>

#include "base/text.h"
#include "compat/show.h"
#include "study/comparing.h"

namespace downfit::study {

namespace {

std::string hex(const Bytes& bytes) {
    std::string text;
    for (const std::uint8_t byte : bytes) text += (text.empty() ? "" : " ") + hex_text(byte, 2);
    return text;
}

std::string accept_words(const Release& release, const schema::Accept& accept) {
    std::string text;
    if (accept.stamp)
        text = "stamp " + condition_words(release, *accept.stamp).substr(std::string("the stamp ").size());
    if (accept.slot) text = "slot" + condition_words(release, *accept.slot);
    if (accept.bytes) text = "bytes " + hex(accept.bytes->bytes) + " at " + std::to_string(accept.bytes->at);
    return text + ", else the " + std::string(schema::refuses_name(accept.refuses)) + " is refused";
}

std::string repair_words(const schema::Repair& repair) {
    return hex(repair.found.bytes) + " at byte " + std::to_string(repair.found.at) + " is read as " +
           hex(repair.read_as);
}

template <class T, class Words>
std::vector<std::string> words_of(const std::vector<T>& list, Words words) {
    std::vector<std::string> texts;
    for (const T& one : list) texts.push_back(words(one));
    return texts;
}

class Rest {
public:
    explicit Rest(Comparing& comparing) : comparing_(comparing), older_(comparing.older), newer_(comparing.newer) {}

    void compare() {
        compare_layouts();
        compare_stamps();
        compare_accepts();
        compare_repairs();
        compare_rules();
        compare_slots();
        compare_assets();
        compare_variants();
        if (older_.budget != newer_.budget) {
            const auto words = [](const std::optional<double>& budget) {
                return budget ? number_text(*budget) : std::string("none");
            };
            Change& change = put(ChangeKind::budget, {}, newer_.name, words(older_.budget), words(newer_.budget));
            change.back.words = budget_words(older_.budget);
            change.forward.words = budget_words(newer_.budget);
        }
        add_statements();
    }

private:
    Change& put(ChangeKind kind, const std::string& key, const std::string& subject, std::string before,
                std::string after) {
        Change& change = comparing_.add(kind, key, subject, std::move(before), std::move(after));
        change.place.file = newer_.file;
        return change;
    }

    void compare_layouts() {
        for (std::size_t i = 0; i < newer_.layouts.size(); ++i) {
            const schema::Layout& before = older_.layouts[i];
            const schema::Layout& after = newer_.layouts[i];
            if (before.body_size != after.body_size) {
                Change& change =
                    put(ChangeKind::body_size, after.name, after.name, std::to_string(before.body_size) + " bytes",
                        std::to_string(after.body_size) + " bytes");
                const bool presets = holds(after) == schema::Holds::presets;
                change.forward = presets ? size_way(newer_, after.body_size < before.body_size) : Way{};
                change.back = presets ? size_way(older_, before.body_size < after.body_size) : Way{};
            }
            if (before.framing != after.framing || before.records != after.records) {
                Change& change = put(ChangeKind::framing, after.name, after.name, "", "another");
                change.back = change.forward = {Effect::refused, "dumps of the other release are not recognised"};
            }
            const auto spans = [](const schema::Layout& layout) {
                std::vector<std::string> texts = layout.other_paths;
                for (const ByteSpan span : layout.volatile_bytes)
                    texts.push_back(std::to_string(span.offset) + "+" + std::to_string(span.length));
                return joined(texts);
            };
            if (spans(before) != spans(after)) {
                Change& change = put(ChangeKind::volatile_bytes, after.name, after.name, spans(before), spans(after));
                change.back.words = change.forward.words = "never compared";
            }
        }
    }

    static std::string budget_words(const std::optional<double>& budget) {
        return budget ? "blocks that need more than " + number_text(*budget) + " together may not all run"
                      : "nobody states how much runs at once";
    }

    [[nodiscard]] schema::Holds holds(const schema::Layout& layout) const {
        return comparing_.device.framings[layout.framing].holds;
    }

    static Way size_way(const Release& release, bool longer) {
        const schema::Rule rule = longer ? schema::Rule::longer_image : schema::Rule::shorter_image;
        const auto action = release.rules[rule];
        const std::string what = longer ? "longer presets" : "shorter presets";
        if (!action)
            return {Effect::unsure,
                    what + ": nobody states what becomes of them (" + std::string(schema::row_of(rule).name) + ")"};
        switch (*action) {
            case schema::Action::refuse: return {refusal_of(release, nullptr), what + " are refused"};
            case schema::Action::held: return {Effect::unsure, what + ": the rest is what the unit held before"};
            case schema::Action::zero: return {Effect::reset, what + ": the rest is read as zero"};
            default: return {Effect::nothing, what + " are taken"};
        }
    }

    void compare_stamps() {
        const auto words = [](const Release& release) {
            std::vector<std::string> texts;
            for (const schema::Stamp& stamp : release.stamps) texts.push_back(compat::stamp_text(stamp));
            std::string text = joined(texts);
            if (release.stamp_from) text += " and higher";
            return text;
        };
        if (words(older_) == words(newer_)) return;
        Change& change = put(ChangeKind::stamp, {}, newer_.name, words(older_), words(newer_));
        change.back = stamp_way(older_, schema::Rule::newer_stamp);
        change.forward = stamp_way(newer_, schema::Rule::older_stamp);
    }

    static Way stamp_way(const Release& release, schema::Rule rule) {
        const bool asked = std::any_of(release.accepts.begin(), release.accepts.end(),
                                       [](const schema::Accept& accept) { return accept.stamp.has_value(); });
        if (asked) return {Effect::nothing, "what is accepted decides"};
        const auto action = release.rules[rule];
        const std::string name(schema::row_of(rule).name);
        if (!action) return {Effect::unsure, "nobody states what becomes of other stamps (" + name + ")"};
        if (*action == schema::Action::refuse)
            return {refusal_of(release, nullptr), "presets with another stamp are refused (" + name + ')'};
        return {Effect::nothing, "presets with another stamp are loaded"};
    }

    void compare_accepts() {
        const auto before = accepts_of(older_), after = accepts_of(newer_);
        if (before == after) return;
        Change& change = put(ChangeKind::accepts, {}, newer_.name, joined(before), joined(after));
        change.forward = accept_way(before, newer_, after);
        change.back = accept_way(after, older_, before);
    }

    static std::vector<std::string> accepts_of(const Release& release) {
        return words_of(release.accepts, [&](const schema::Accept& accept) { return accept_words(release, accept); });
    }

    static Way accept_way(const std::vector<std::string>& saved, const Release& release,
                          const std::vector<std::string>& loading) {
        Way way{Effect::nothing, "all are accepted"};
        for (std::size_t i = 0; i < loading.size(); ++i) {
            if (std::find(saved.begin(), saved.end(), loading[i]) != saved.end()) continue;
            const schema::Refuses refuses = release.accepts[i].refuses;
            const bool part = refuses == schema::Refuses::block || refuses == schema::Refuses::parameter;
            const Effect effect = part ? Effect::lost : Effect::refused;
            if (effect < way.effect) way = {effect, "takes only " + loading[i]};
        }
        return way;
    }

    void compare_repairs() {
        const auto before = words_of(older_.repairs, repair_words), after = words_of(newer_.repairs, repair_words);
        if (before == after) return;
        Change& change = put(ChangeKind::repairs, {}, newer_.name, joined(before), joined(after));
        // A repair was made for what other releases left: it is missing where they are loaded without it.
        const auto all_in = [](const std::vector<std::string>& some, const std::vector<std::string>& all) {
            return std::all_of(some.begin(), some.end(), [&](const std::string& one) {
                return std::find(all.begin(), all.end(), one) != all.end();
            });
        };
        const Way fixed{Effect::nothing, "what it finds so is read as meant"};
        change.forward = all_in(before, after) ? fixed : Way{Effect::swapped, "some is not repaired there any more"};
        change.back = {Effect::nothing, "what the newer release repairs is not repaired there"};
    }

    void compare_rules() {
        for (const schema::RuleRow& row : schema::rule_table) {
            const auto before = older_.rules[row.rule], after = newer_.rules[row.rule];
            if (before == after) continue;
            const auto words = [](const std::optional<schema::Action>& action) {
                return action ? std::string(schema::action_name(*action)) : std::string("not stated");
            };
            Change& change =
                put(ChangeKind::rule, "release\n" + std::string(row.name), newer_.name,
                    std::string(row.name) + ": " + words(before), std::string(row.name) + ": " + words(after));
            change.back.words = change.forward.words = "decides what becomes of what does not fit";
        }
        if (older_.rules.tolerance != newer_.rules.tolerance || older_.rules.refuses != newer_.rules.refuses)
            put(ChangeKind::rule, "release\nmore", newer_.name, "tolerance or refusal", "another");
    }

    void compare_slots() {
        if (older_.slots.first == newer_.slots.first && older_.slots.count == newer_.slots.count) return;
        const auto words = [](const schema::Slots& slots) {
            return std::to_string(slots.first) + ".." + std::to_string(slots.first + slots.count - 1);
        };
        Change& change = put(ChangeKind::slots, {}, newer_.name, words(older_.slots), words(newer_.slots));
        const auto way = [](const schema::Slots& saved, const schema::Slots& loading) -> Way {
            const bool fewer = saved.first < loading.first || saved.first + saved.count > loading.first + loading.count;
            if (fewer) return {Effect::refused, "presets in slots that are not there"};
            return {Effect::nothing, "more slots"};
        };
        change.forward = way(older_.slots, newer_.slots);
        change.back = way(newer_.slots, older_.slots);
    }

    void compare_assets() {
        for (const schema::AssetKind& after : newer_.assets) {
            const schema::AssetKind* before = older_.asset(after.name);
            compare_asset(before ? *before : schema::AssetKind{after.name, {}, after.first, 0, {}}, after);
        }
        for (const schema::AssetKind& before : older_.assets) {
            if (!newer_.asset(before.name)) compare_asset(before, {before.name, {}, before.first, 0, {}});
        }
    }

    void compare_asset(const schema::AssetKind& before, const schema::AssetKind& after) {
        const auto words = [](const schema::AssetKind& kind) {
            if (kind.count == 0) return std::string("none");
            return std::to_string(kind.first) + ".." + std::to_string(kind.first + kind.count - 1);
        };
        if (words(before) != words(after)) {
            Change& change = put(ChangeKind::asset, after.name, after.name, words(before), words(after));
            add_references(after.name, change);
            const auto way = [](const schema::AssetKind& saved, const schema::AssetKind& loading) -> Way {
                const bool fewer =
                    saved.first < loading.first || saved.first + saved.count > loading.first + loading.count;
                if (fewer) return {Effect::unfilled, "slots beyond are not there"};
                return {Effect::nothing, "more slots"};
            };
            change.forward = way(before, after);
            change.back = way(after, before);
        }
        if (before.contents == after.contents) return;
        Change& change = put(ChangeKind::asset, after.name + "\ncontents", after.name, "factory contents", "others");
        add_references(after.name, change);
        change.back = change.forward = {Effect::swapped, "the same slot holds something else from the factory"};
    }

    void add_references(const std::string& kind, Change& change) const {
        for (const Parameter& parameter : newer_.parameters) {
            if (parameter.refers_to == kind) change.touches.push_back(parameter.meaning);
        }
    }

    static std::string group_meaning(const Release& release, const std::string& path) {
        const auto at = std::find_if(release.groups.begin(), release.groups.end(),
                                     [&](const Group& group) { return group.path == path; });
        return at == release.groups.end() ? path : at->meaning;
    }

    static const schema::Variant* variant(const Release& release, const std::string& name) {
        for (const schema::Variant& one : release.variants) {
            if (one.name == name) return &one;
        }
        return nullptr;
    }

    void compare_variants() {
        for (const schema::Variant& after : newer_.variants) {
            const schema::Variant* before = variant(older_, after.name);
            if (before) {
                compare_variant(*before, after);
            } else {
                put(ChangeKind::variant, after.name, after.name, "", "new");
            }
        }
        for (const schema::Variant& before : older_.variants) {
            if (!variant(newer_, before.name)) put(ChangeKind::variant, before.name, before.name, "", "gone");
        }
    }

    void compare_variant(const schema::Variant& before, const schema::Variant& after) {
        if (before.oldest_release != after.oldest_release) {
            const auto words = [](const schema::Variant& one) {
                return "oldest release " +
                       (one.oldest_release.empty() ? std::string("not stated") : one.oldest_release);
            };
            Change& change = put(ChangeKind::variant, after.name + "\noldest", after.name, words(before), words(after));
            const auto way = [&](const Release& loading) -> Way {
                for (const std::string& oldest : {before.oldest_release, after.oldest_release}) {
                    const auto order = oldest.empty() ? std::nullopt : comparing_.device.find_release(oldest);
                    if (order && loading.order < *order)
                        return {Effect::refused, "its hardware takes no release before " + oldest};
                }
                return {};
            };
            change.back = way(older_);
            change.forward = way(newer_);
        }
        if (before.facts != after.facts || before.budget != after.budget)
            put(ChangeKind::variant, after.name + "\nfacts", after.name, "facts or budget", "others");
        std::map<std::string, std::pair<int, int>> limits;  // by the group's meaning; 0: none
        for (const auto& [path, limit] : before.limits) limits[group_meaning(older_, path)].first = limit;
        for (const auto& [path, limit] : after.limits) limits[group_meaning(newer_, path)].second = limit;
        for (const auto& [meaning, limit] : limits) {
            if (limit.first == limit.second) continue;
            const Group* now = comparing_.newer_group(meaning);
            const std::string group = now ? now->path : meaning;
            const auto words = [](int number) { return number == 0 ? std::string("none") : std::to_string(number); };
            Change& change =
                put(ChangeKind::limit, after.name + '\n' + meaning, group, words(limit.first), words(limit.second));
            change.where = "on " + after.name;
            change.touches = comparing_.inside(newer_, group);
            const auto way = [](int saved, int loading) -> Way {
                if (loading > 0 && (saved == 0 || loading < saved))
                    return {Effect::lost, "no more than " + std::to_string(loading) + " work at once"};
                return {Effect::nothing, "more work at once"};
            };
            change.forward = way(limit.first, limit.second);
            change.back = way(limit.second, limit.first);
        }
    }

    /// What each release from the older (excluded) to the newer states of itself.
    void add_statements() {
        for (std::size_t order = older_.order + 1; order <= newer_.order; ++order) {
            const auto& schema = comparing_.device.releases[order].schema;
            if (!schema) continue;
            for (const schema::Revoiced& revoiced : schema->revoiced) add_revoiced(*schema, revoiced);
            if (!schema->returns_to.empty()) add_return(*schema);
            for (const std::string& sentence : schema->erases) {
                Change& change = put(ChangeKind::erases, schema->name + '\n' + sentence, schema->name, "", sentence);
                change.place.file = schema->file;
                change.releases = {schema->name};
                change.forward.words = "when it is installed";
                change.back.words = "done already";
            }
        }
    }

    void add_revoiced(const Release& release, const schema::Revoiced& revoiced) {
        const Parameter* parameter = release.find(revoiced.parameter);
        const schema::Choice* choice = parameter && parameter->plain.choices
                                           ? parameter->plain.choices->find(std::string_view(revoiced.label))
                                           : nullptr;
        if (!choice) return;
        std::string after = revoiced.weight;
        if (revoiced.level_change) after += ", " + number_text(*revoiced.level_change) + " dB louder";
        if (revoiced.level_change && *revoiced.level_change < 0)
            after = revoiced.weight + ", " + number_text(-*revoiced.level_change) + " dB softer";
        if (!revoiced.note.empty()) after += ": " + revoiced.note;
        const Parameter* now = comparing_.newer_parameter(parameter->meaning);
        Change& change = put(ChangeKind::revoiced, release.name + '\n' + parameter->meaning + '\n' + choice->meaning,
                             now ? now->id : parameter->id, "", after);
        change.place.file = release.file;
        change.holds = {revoiced.label};
        change.shifted = {choice->meaning};
        change.touches = {parameter->meaning};
        change.releases = {release.name};
        change.back = change.forward = {Effect::revoiced, "the same model sounds different"};
    }

    void add_return(const Release& release) {
        Change& change = put(ChangeKind::returns_to, release.name, release.name, "",
                             "back to " + release.returns_to + " at the oldest");
        change.place.file = release.file;
        change.releases = {release.name};
        const auto oldest = comparing_.device.find_release(release.returns_to);
        const bool closed = oldest && *oldest > older_.order;
        change.back = closed ? Way{Effect::refused, "the unit does not take " + older_.name + " after it"}
                             : Way{Effect::nothing, "the way back is open"};
    }

    Comparing& comparing_;
    const Release& older_;
    const Release& newer_;
};

}  // namespace

void compare_rest(Comparing& comparing) {
    Rest(comparing).compare();
}

}  // namespace downfit::study
