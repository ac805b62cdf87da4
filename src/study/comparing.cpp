#include "study/comparing.h"

#include <algorithm>

#include "base/text.h"
#include "dump/value_text.h"
#include "schema/ids.h"

namespace downfit::study {

namespace {

constexpr std::array<std::string_view, 5> operators{"is", "at least", "at most", "above", "below"};

std::string setting_text(const schema::Setting& setting) {
    if (const auto* number = std::get_if<double>(&setting)) return number_text(*number);
    return std::get<std::string>(setting);
}

std::string switch_text(const schema::Setting& setting) {
    const auto* number = std::get_if<double>(&setting);
    return !number ? setting_text(setting) : *number == 0 ? "off" : "on";
}

/// What is asked: a parameter by what it means, anything else by its name.
std::string subject_of(const schema::Condition& condition, const Release* release) {
    using Subject = schema::Condition::Subject;
    switch (condition.subject) {
        case Subject::parameter: return release ? meaning_of(*release, condition.name) : condition.name;
        case Subject::stamp: return "the stamp";
        case Subject::fact: return "the unit's " + condition.name;
        case Subject::bytes: return "byte " + std::to_string(condition.at);
        case Subject::version: return "the version";
    }
    return {};
}

/// Whether texts are to be equal where the same is asked, or to be read.
enum class For { keys, people };

std::string comparison_text(const schema::Condition& condition, const Release& names, For whom) {
    const Release* release = whom == For::keys ? &names : nullptr;
    std::string text = subject_of(condition, release);
    if (condition.subject == schema::Condition::Subject::bytes) {
        text += " is";
        for (const std::uint8_t byte : condition.bytes) text += ' ' + hex_text(byte, 2);
        return text;
    }
    text += ' ' + std::string(operators[static_cast<std::size_t>(condition.op)]) + ' ';
    const auto steps = schema::parse_id(condition.name);
    const Parameter* parameter = steps ? names.find(schema::plain_id(*steps)) : nullptr;
    const bool of_switch = parameter && parameter->kind == schema::Kind::on_off;
    std::vector<std::string> settings;
    for (const schema::Setting& setting : condition.settings) {
        const std::string one = of_switch ? switch_text(setting) : setting_text(setting);
        const schema::Choice* choice = release && parameter && parameter->plain.choices
                                           ? parameter->plain.choices->find(std::string_view(one))
                                           : nullptr;
        settings.push_back(choice ? choice->meaning : one);
    }
    if (release) std::sort(settings.begin(), settings.end());
    for (std::size_t i = 0; i < settings.size(); ++i) {
        text += (i == 0 ? "" : i + 1 == settings.size() ? " or " : ", ") + settings[i];
    }
    return text;
}

std::string condition_text(const schema::Condition& condition, const Release& release, For whom) {
    using Kind = schema::Condition::Kind;
    if (condition.kind == Kind::comparison) return comparison_text(condition, release, whom);
    if (condition.kind == Kind::negation) return "not (" + condition_text(condition.parts.front(), release, whom) + ')';
    std::vector<std::string> parts;
    for (const schema::Condition& part : condition.parts) parts.push_back(condition_text(part, release, whom));
    if (parts.size() == 1) return parts.front();
    if (whom == For::keys) std::sort(parts.begin(), parts.end());
    std::string text;
    for (const std::string& part : parts) {
        text += (text.empty() ? "(" : condition.kind == Kind::all ? " and " : " or ") + part;
    }
    return text.empty() ? std::string("always") : text + ')';
}

}  // namespace

Comparing::Comparing(const Device& whole, const Release& old_release, const Release& new_release)
    : device(whole), older(old_release), newer(new_release) {
    for (const Parameter& parameter : older.parameters) older_parameters_.emplace(parameter.meaning, &parameter);
    for (const Parameter& parameter : newer.parameters) newer_parameters_.emplace(parameter.meaning, &parameter);
    for (const Group& group : older.groups) older_groups_.emplace(group.meaning, &group);
    for (const Group& group : newer.groups) newer_groups_.emplace(group.meaning, &group);
}

Change& Comparing::add(ChangeKind kind, const std::string& key, std::string subject, std::string before,
                       std::string after) {
    Change change;
    change.kind = kind;
    change.key = std::string(row_of(kind).name) + '\n' + key;
    change.subject = std::move(subject);
    change.before = std::move(before);
    change.after = std::move(after);
    changes.push_back(std::move(change));
    return changes.back();
}

Change& Comparing::add(ChangeKind kind, const std::string& detail, const Parameter& old_one, const Parameter& new_one,
                       std::string before, std::string after) {
    Change& change = add(kind, new_one.meaning + '\n' + detail, new_one.id, std::move(before), std::move(after));
    if (old_one.id != new_one.id) change.subject_before = old_one.id;
    change.place = new_one.place;
    change.touches = {new_one.meaning};
    return change;
}

Change& Comparing::add(ChangeKind kind, const std::string& detail, const Group& old_one, const Group& new_one,
                       std::string before, std::string after) {
    Change& change = add(kind, new_one.meaning + '\n' + detail, new_one.path, std::move(before), std::move(after));
    if (old_one.path != new_one.path) change.subject_before = old_one.path;
    change.place = new_one.place;
    change.group = new_one.meaning;
    change.touches = inside(newer, new_one.path);
    for (const std::string& meaning : inside(older, old_one.path)) {
        if (std::find(change.touches.begin(), change.touches.end(), meaning) == change.touches.end())
            change.touches.push_back(meaning);
    }
    return change;
}

std::vector<std::string> Comparing::inside(const Release& release, const std::string& path) const {
    std::vector<std::string> meanings;
    for (const Parameter& parameter : release.parameters) {
        if (parameter.id.starts_with(path + '.')) meanings.push_back(parameter.meaning);
    }
    return meanings;
}

std::optional<schema::Action> rule_of(const Release& release, const Parameter* parameter, schema::Rule rule) {
    if (parameter && parameter->rules[rule]) return parameter->rules[rule];
    return release.rules[rule];
}

Effect refusal_of(const Release& release, const Parameter* parameter) {
    auto refuses = parameter ? parameter->rules.refuses : std::nullopt;
    if (!refuses) refuses = release.rules.refuses;
    const bool part = refuses == schema::Refuses::parameter || refuses == schema::Refuses::block;
    return part ? Effect::lost : Effect::refused;
}

std::string meaning_of(const Release& release, const std::string& reference) {
    const auto steps = schema::parse_id(reference);
    const Parameter* parameter = steps ? release.find(schema::plain_id(*steps)) : nullptr;
    if (!parameter) return reference;
    std::string text = parameter->meaning;
    for (const schema::IdStep& step : *steps) {
        if (step.index > 0) text += '#' + std::to_string(step.index);
    }
    return text;
}

std::string condition_key(const Release& release, const schema::Condition& condition) {
    return condition_text(condition, release, For::keys);
}

std::string condition_words(const Release& release, const schema::Condition& condition) {
    return condition_text(condition, release, For::people);
}

std::string condition_words(const Release& release, const std::optional<schema::Condition>& condition) {
    return condition ? condition_words(release, *condition) : "always";
}

std::string range_words(const schema::Range& range, schema::Unit unit) {
    return number_text(range.least) + ".." + number_text(range.most) + std::string(dump::unit_suffix(unit));
}

std::string setting_words(const std::optional<schema::Setting>& setting, const Meaning& meaning,
                          const Parameter& parameter) {
    if (!setting) return "none";
    if (parameter.kind == schema::Kind::on_off) return switch_text(*setting);
    if (const auto* number = std::get_if<double>(&*setting))
        return number_text(*number) + std::string(dump::unit_suffix(meaning.unit));
    const std::string& text = std::get<std::string>(*setting);
    return text.empty() ? "empty" : text;
}

bool may_be_controlled(const Release& release, const Parameter& parameter) {
    for (const Group& group : release.groups) {
        if (group.kind != schema::GroupKind::controller || group.controls.empty()) continue;
        const Parameter* target = release.find(group.controls);
        if (!target || !target->plain.choices) continue;
        for (const schema::Choice& choice : target->plain.choices->choices) {
            const auto steps = schema::parse_id(choice.label);
            if (steps && schema::plain_id(*steps) == parameter.id) return true;
        }
    }
    return false;
}

std::string place_words(const Parameter& parameter) {
    const schema::Storage& storage = parameter.storage;
    if (stands_by_name(parameter)) return parameter.path ? '"' + *parameter.path + '"' : std::string("nowhere");
    std::string text = parameter.tag ? "record " + std::to_string(*parameter.tag) + ", " : std::string();
    if (storage.coding == schema::Coding::text) return text + "byte " + std::to_string(storage.text_at);
    for (std::size_t i = 0; i < storage.pieces.size(); ++i) {
        const schema::BitPiece& piece = storage.pieces[i];
        if (i > 0) text += ", ";
        const int last = piece.bit + piece.width - 1;
        if (piece.width == 8) {
            text += "byte " + std::to_string(piece.byte);
        } else if (piece.width == 1) {
            text += "bit " + std::to_string(piece.bit) + " of byte " + std::to_string(piece.byte);
        } else {
            text += "bits " + std::to_string(piece.bit) + "-" + std::to_string(last) + " of byte " +
                    std::to_string(piece.byte);
        }
    }
    return text;
}

std::string joined(const std::vector<std::string>& texts) {
    std::string text;
    for (const std::string& one : texts) text += (text.empty() ? "" : ", ") + one;
    return text.empty() ? "none" : text;
}

Way beyond_range(const Release& release, const Parameter& parameter, const std::string& what) {
    const auto action = rule_of(release, &parameter, schema::Rule::out_of_range);
    if (!action) return {Effect::unsure, what + ": nobody states what becomes of it (out-of-range)"};
    switch (*action) {
        case schema::Action::clamp: return {Effect::clamped, what + ": held at the end"};
        case schema::Action::reset: return {Effect::reset, what + ": set to the default"};
        case schema::Action::wrap: return {Effect::rescaled, what + ": wraps around"};
        case schema::Action::refuse: return {refusal_of(release, &parameter), what + ": refused"};
        default: return {Effect::out_of_range, what + ": kept, beyond what is played"};
    }
}

Way unknown_choice(const Release& release, const Parameter& parameter, const std::string& what) {
    const auto action = rule_of(release, &parameter, schema::Rule::unknown_choice);
    if (!action) return {Effect::unsure, what + ": nobody states what becomes of it (unknown-choice)"};
    switch (*action) {
        case schema::Action::clamp: return {Effect::clamped, what + ": the nearest known number"};
        case schema::Action::reset: return {Effect::reset, what + ": the default"};
        case schema::Action::first: return {Effect::reset, what + ": the first choice"};
        case schema::Action::refuse: return {refusal_of(release, &parameter), what + ": refused"};
        default: return {Effect::out_of_range, what + ": kept, with no meaning"};
    }
}

}  // namespace downfit::study
