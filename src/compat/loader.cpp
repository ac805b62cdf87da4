#include "compat/loader.h"

#include <algorithm>
#include <cmath>

#include "compat/field_rules.h"

namespace downfit::compat {
namespace {

using schema::Action;
using schema::Condition;
using schema::Refuses;
using schema::Rule;

template <class T>
bool compares(Condition::Operator op, const T& left, const T& right) {
    switch (op) {
        case Condition::Operator::is: return left == right;
        case Condition::Operator::at_least: return left >= right;
        case Condition::Operator::at_most: return left <= right;
        case Condition::Operator::above: return left > right;
        case Condition::Operator::below: return left < right;
    }
    return false;
}

bool matches_setting(const schema::Setting& setting, Condition::Operator op, const BoundField& field,
                     const Loaded& loaded) {
    if (const auto* label = std::get_if<std::string>(&setting)) {
        if (field.parameter->kind == schema::Kind::on_off) return is_on(field, loaded) == (*label == "On");
        if (field.parameter->kind == schema::Kind::text) return loaded.stored.text == *label;
        return loaded.choice != nullptr && loaded.choice->label == *label;
    }
    const double number = std::get<double>(setting);
    if (field.parameter->kind == schema::Kind::on_off) return compares(op, is_on(field, loaded) ? 1.0 : 0.0, number);
    if (op == Condition::Operator::is) return same_amount({loaded.value, BaseUnit::plain}, {number, BaseUnit::plain});
    return compares(op, loaded.value, number);
}

bool comparison_holds(const BoundCondition& condition, const CompiledRelease& release,
                      const std::vector<Loaded>& fields, const Image& image, const Assumptions& assumptions,
                      std::vector<std::string>* asked_facts) {
    switch (condition.subject) {
        case Condition::Subject::parameter: {
            if (condition.field < 0) return false;
            const auto at = static_cast<std::size_t>(condition.field);
            if (!fields[at].exists) return false;
            return std::any_of(condition.settings.begin(), condition.settings.end(),
                               [&](const schema::Setting& setting) {
                                   return matches_setting(setting, condition.op, release.fields()[at], fields[at]);
                               });
        }
        case Condition::Subject::stamp:
            return image.stamp_release && compares(condition.op, *image.stamp_release, condition.release);
        case Condition::Subject::fact: break;
    }
    const auto fact = assumptions.facts.find(condition.fact);
    if (fact == assumptions.facts.end()) {
        if (asked_facts != nullptr) asked_facts->push_back(condition.fact);
        return true;
    }
    return std::any_of(condition.settings.begin(), condition.settings.end(), [&](const schema::Setting& setting) {
        const auto* text = std::get_if<std::string>(&setting);
        return text != nullptr && *text == fact->second;
    });
}

/// The action for a rule of the whole preset: stated, assumed, or asked for.
Action action_for(Rule rule, const schema::Rules& rules, const Assumptions& assumptions, AskedRules& asked) {
    if (const auto stated = rules[rule]) return *stated;
    const auto index = static_cast<std::size_t>(rule);
    if (assumptions.actions[index]) return *assumptions.actions[index];
    asked.set(index);
    return schema::row_of(rule).actions[0];
}

bool bytes_match(const schema::BodyBytes& wanted, ByteView body) {
    return wanted.at + wanted.bytes.size() <= body.size() &&
           std::equal(wanted.bytes.begin(), wanted.bytes.end(), body.begin() + static_cast<std::ptrdiff_t>(wanted.at));
}

/// Repairs change what is read; most presets match none and are not copied.
ByteView repaired(const schema::Release& release, ByteView body, Bytes& copy, std::vector<std::string>& told) {
    for (const schema::Repair& repair : release.repairs) {
        const ByteView now = copy.empty() ? body : ByteView(copy);
        if (!bytes_match(repair.found, now)) continue;
        if (copy.empty()) copy.assign(body.begin(), body.end());
        const std::size_t end = std::min(copy.size(), repair.found.at + repair.read_as.size());
        std::copy_n(repair.read_as.begin(), end - repair.found.at,
                    copy.begin() + static_cast<std::ptrdiff_t>(repair.found.at));
        told.push_back(repair.why);
    }
    return copy.empty() ? body : ByteView(copy);
}

void refuse(LoadedPreset& preset, Refuses what, std::string why) {
    preset.refused = what;
    preset.refusal = std::move(why);
}

/// `accepts`, then the stamp order where accepts is silent about stamps.
void check_acceptance(const CompiledRelease& compiled, const Image& image, ByteView body,
                      const Assumptions& assumptions, LoadedPreset& preset) {
    const schema::Release& release = compiled.release();
    bool speaks_of_stamps = false;
    for (const schema::Accept& accept : release.accepts) {
        bool accepted = true;
        std::string what;
        if (accept.bytes) {
            accepted = bytes_match(*accept.bytes, body);
            what = "its first bytes are not what this release accepts";
        } else if (accept.slot) {
            const auto* limit = std::get_if<double>(&accept.slot->settings.front());
            accepted = image.slot < 0 || limit == nullptr ||
                       compares(accept.slot->op, static_cast<double>(image.slot), *limit);
            what = "this release does not take that slot number";
        } else if (accept.stamp) {
            speaks_of_stamps = true;
            const auto* name = std::get_if<std::string>(&accept.stamp->settings.front());
            const auto limit = name != nullptr ? compiled.device().find_release(*name) : std::nullopt;
            accepted = !image.stamp_release || !limit || compares(accept.stamp->op, *image.stamp_release, *limit);
            what = "this release does not take presets with that stamp";
        }
        if (!accepted) return refuse(preset, accept.refuses, accept.why.empty() ? what : accept.why);
    }
    if (speaks_of_stamps || !image.stamp_release || *image.stamp_release == release.order) return;
    const bool newer = *image.stamp_release > release.order;
    const Action action =
        action_for(newer ? Rule::newer_stamp : Rule::older_stamp, release.rules, assumptions, preset.asked);
    if (action == Action::refuse) {
        refuse(preset, release.rules.refuses.value_or(Refuses::preset),
               newer ? "it was saved on a newer release" : "it was saved on an older release");
    }
}

}  // namespace

bool holds(const BoundCondition& condition, const CompiledRelease& release, const std::vector<Loaded>& fields,
           const Image& image, const Assumptions& assumptions, std::vector<std::string>* asked_facts) {
    const auto part_holds = [&](const BoundCondition& part) {
        return holds(part, release, fields, image, assumptions, asked_facts);
    };
    switch (condition.kind) {
        case Condition::Kind::all: return std::all_of(condition.parts.begin(), condition.parts.end(), part_holds);
        case Condition::Kind::any: return std::any_of(condition.parts.begin(), condition.parts.end(), part_holds);
        case Condition::Kind::negation: return !condition.parts.empty() && !part_holds(condition.parts.front());
        case Condition::Kind::comparison: break;
    }
    return comparison_holds(condition, release, fields, image, assumptions, asked_facts);
}

LoadedPreset load(const CompiledRelease& compiled, const Image& image, const Assumptions& assumptions) {
    LoadedPreset preset;
    const schema::Release& release = compiled.release();
    Bytes copy;
    const ByteView body = repaired(release, image.body, copy, preset.repairs);
    check_acceptance(compiled, image, body, assumptions, preset);
    if (preset.refused) return preset;

    const std::size_t expected = release.layouts[image.layout].body_size;
    Action beyond = Action::use_default;
    if (body.size() > expected &&
        action_for(Rule::longer_image, release.rules, assumptions, preset.asked) == Action::refuse) {
        refuse(preset, release.rules.refuses.value_or(Refuses::preset), "it is longer than this release expects");
    } else if (body.size() < expected) {
        beyond = action_for(Rule::shorter_image, release.rules, assumptions, preset.asked);
        if (beyond == Action::refuse) {
            refuse(preset, release.rules.refuses.value_or(Refuses::preset), "it is shorter than this release expects");
        }
    }
    if (preset.refused) return preset;

    preset.fields.resize(compiled.fields().size());
    const std::size_t framing = release.layouts[image.layout].framing;
    const bool unit_settings = compiled.device().framings[framing].holds == schema::Holds::unit_settings;
    FieldLoader loader{compiled, body.first(std::min(body.size(), expected)), beyond, assumptions, preset.asked};
    for (const int index : compiled.order()) {
        const BoundField& field = compiled.fields()[static_cast<std::size_t>(index)];
        Loaded& loaded = preset.fields[static_cast<std::size_t>(index)];
        const auto condition_holds = [&](int condition) {
            return holds(compiled.conditions()[static_cast<std::size_t>(condition)], compiled, preset.fields, image,
                         assumptions, &preset.asked_facts);
        };
        loaded.exists = (field.parameter->scope == schema::Scope::unit) == unit_settings &&
                        std::all_of(field.conditions.begin(), field.conditions.end(), condition_holds);
        loaded.meaning = &field.plain;
        for (const auto& [condition, meaning] : field.varies) {
            if (condition_holds(condition)) {
                loaded.meaning = &meaning;
                break;
            }
        }
        const auto refused = loader.load_field(field, loaded);
        if (!refused || !loaded.exists) continue;
        if (*refused == Refuses::preset || *refused == Refuses::dump) {
            refuse(preset, *refused, "it does not take the stored number of " + field.field->id);
            preset.fields.clear();
            return preset;
        }
        if (*refused == Refuses::block) refuse_block(compiled, field.group, preset.fields);
    }
    return preset;
}

}  // namespace downfit::compat
