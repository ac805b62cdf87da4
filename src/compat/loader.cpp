#include "compat/loader.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "compat/field_rules.h"
#include "dump/locate.h"

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
        if (field.parameter->kind == schema::Kind::text) return loaded.stored.text == *label;
        return loaded.choice != nullptr && loaded.choice->label == *label;
    }
    const double number = std::get<double>(setting);
    if (op == Condition::Operator::is) return same_amount({loaded.value, BaseUnit::plain}, {number, BaseUnit::plain});
    return compares(op, loaded.value, number);
}

bool bytes_match(const schema::BodyBytes& wanted, ByteView body) {
    return wanted.at + wanted.bytes.size() <= body.size() &&
           std::equal(wanted.bytes.begin(), wanted.bytes.end(), body.begin() + static_cast<std::ptrdiff_t>(wanted.at));
}

std::optional<std::int64_t> version_of(const Image& image, int anchor) {
    return image.located == nullptr ? std::nullopt : image.located->version_of(anchor);
}

/// A condition on a parameter of the unit, which is not in the preset: without the unit's settings both answers are
/// tried.
bool unit_parameter_holds(const BoundCondition& condition, const BoundField& field, const Image& image,
                          const Assumptions& assumptions, std::vector<std::string>* asked_facts) {
    if (field.parameter->scope != schema::Scope::unit || !image.settings.empty()) return false;
    std::string fact = "unit " + field.field->id;
    for (const schema::Setting& setting : condition.settings) {
        if (const auto* label = std::get_if<std::string>(&setting)) {
            fact += " " + *label;
        } else if (field.parameter->kind == schema::Kind::on_off) {
            fact += std::get<double>(setting) != 0 ? " On" : " Off";
        } else {
            fact += " " + number_text(std::get<double>(setting));
        }
    }
    const auto known = assumptions.facts.find(fact);
    if (known != assumptions.facts.end()) return known->second == "yes";
    if (asked_facts != nullptr) asked_facts->push_back(fact);
    return true;
}

bool comparison_holds(const BoundCondition& condition, const CompiledRelease& release,
                      const std::vector<Loaded>& fields, const Image& image, const Assumptions& assumptions,
                      std::vector<std::string>* asked_facts) {
    switch (condition.subject) {
        case Condition::Subject::parameter: {
            if (condition.field < 0) return false;
            const auto at = static_cast<std::size_t>(condition.field);
            if (!fields[at].exists)
                return unit_parameter_holds(condition, release.fields()[at], image, assumptions, asked_facts);
            return std::any_of(condition.settings.begin(), condition.settings.end(),
                               [&](const schema::Setting& setting) {
                                   return matches_setting(setting, condition.op, release.fields()[at], fields[at]);
                               });
        }
        case Condition::Subject::stamp:
            return image.stamp_release &&
                   std::any_of(condition.releases.begin(), condition.releases.end(), [&](std::size_t wanted) {
                       return compares(condition.op, *image.stamp_release, wanted);
                   });
        case Condition::Subject::bytes:
            return bytes_match({static_cast<std::size_t>(condition.at), condition.bytes}, image.body);
        case Condition::Subject::version: {
            const auto version = version_of(image, condition.anchor);
            return version && std::any_of(condition.settings.begin(), condition.settings.end(),
                                          [&](const schema::Setting& setting) {
                                              const auto* number = std::get_if<double>(&setting);
                                              return number != nullptr &&
                                                     compares(condition.op, static_cast<double>(*version), *number);
                                          });
        }
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
    const auto index = static_cast<std::size_t>(rule);
    if (assumptions.instead[index]) return *assumptions.instead[index];
    if (const auto stated = rules[rule]) return *stated;
    if (assumptions.actions[index]) return *assumptions.actions[index];
    asked.set(index);
    return schema::row_of(rule).actions[0];
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

/// Whether the slot, as shown, is one of those compared with.
bool slot_matches(const Condition& condition, int slot) {
    return std::any_of(condition.settings.begin(), condition.settings.end(), [&](const schema::Setting& setting) {
        const auto* limit = std::get_if<double>(&setting);
        return limit == nullptr || compares(condition.op, static_cast<double>(slot), *limit);
    });
}

/// Whether the stamp names one of the releases compared with.
bool stamp_matches(const Condition& condition, std::size_t stamp, const schema::Device& device) {
    return std::any_of(condition.settings.begin(), condition.settings.end(), [&](const schema::Setting& setting) {
        const auto* name = std::get_if<std::string>(&setting);
        const auto limit = name != nullptr ? device.find_release(*name) : std::nullopt;
        return !limit || compares(condition.op, stamp, *limit);
    });
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
            accepted = image.slot < 0 || slot_matches(*accept.slot, image.slot);
            what = "this release does not take that slot number";
        } else if (accept.stamp) {
            speaks_of_stamps = true;
            accepted = !image.stamp_release || stamp_matches(*accept.stamp, *image.stamp_release, compiled.device());
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

namespace {

/// Asks what becomes of a body that is longer or shorter than expected. Returns what fields beyond its end get.
Action settle_size(const CompiledRelease& compiled, const Image& image, ByteView body, const Assumptions& assumptions,
                   LoadedPreset& preset) {
    const schema::Release& release = compiled.release();
    const schema::Layout& layout = release.layouts[image.layout];
    if (image.as_it_stands) return Action::use_default;
    const Refuses refuses = release.rules.refuses.value_or(Refuses::preset);
    if (layout.records || layout.notation != schema::Notation::bytes || body.size() == layout.body_size)
        return Action::use_default;
    if (body.size() > layout.body_size) {
        if (action_for(Rule::longer_image, release.rules, assumptions, preset.asked) == Action::refuse) {
            refuse(preset, refuses, "it is longer than this release expects");
        }
        return Action::use_default;
    }
    const Action beyond = action_for(Rule::shorter_image, release.rules, assumptions, preset.asked);
    if (beyond == Action::refuse) refuse(preset, refuses, "it is shorter than this release expects");
    return beyond;
}

/// Whether the last of several records with the same id counts.
bool last_counts(const CompiledRelease& compiled, const dump::Located& located, const Assumptions& assumptions,
                 LoadedPreset& preset) {
    return !located.repeated().empty() &&
           action_for(Rule::repeated_key, compiled.release().rules, assumptions, preset.asked) == Action::last;
}

/// Asks what becomes of unknown records and of versions that are too high.
void settle_records(const CompiledRelease& compiled, const dump::Located& located, const Image& image, ByteView body,
                    const Assumptions& assumptions, LoadedPreset& preset) {
    const schema::Release& release = compiled.release();
    const schema::Layout& layout = release.layouts[image.layout];
    const bool by_name = layout.notation != schema::Notation::bytes;
    if (image.as_it_stands || (!layout.records && !by_name)) return;
    if (!located.unknown().empty()) {
        if (action_for(Rule::unknown_parameter, release.rules, assumptions, preset.asked) == Action::refuse) {
            const dump::Record& first = located.unknown().front();
            const std::string what = by_name ? dump::NamedBody(layout.notation, body).path_at(first.value.offset)
                                             : "record " + std::to_string(first.id);
            refuse(preset, release.rules.refuses.value_or(Refuses::preset),
                   "it holds " + what + ", which this release does not know");
        } else {
            (by_name ? preset.skipped_values : preset.skipped_records) = located.unknown().size();
        }
    }
    for (const schema::Anchor& anchor : compiled.instances().anchors()) {
        if (anchor.group < 0 || preset.refused) continue;
        const auto& instance = compiled.instances().groups()[static_cast<std::size_t>(anchor.group)];
        const schema::Group& group = release.groups[static_cast<std::size_t>(instance.group)];
        const auto version = located.version_of(instance.anchor);
        if (!group.version_at_most || !version || *version <= *group.version_at_most) continue;
        if (group.version_refuses == Refuses::preset || group.version_refuses == Refuses::dump) {
            refuse(preset, group.version_refuses,
                   "the version of " + instance.id + " is newer than this release takes");
        }
    }
}

/// The first read whose condition holds, else the plain place with the first varied meaning that holds.
template <class Holds>
void choose_meaning(const BoundField& field, const Holds& condition_holds, Loaded& loaded) {
    loaded.meaning = &field.plain;
    for (loaded.read_index = 0; loaded.read_index < field.reads.size(); ++loaded.read_index) {
        const BoundRead& read = field.reads[loaded.read_index];
        if (!condition_holds(read.condition)) continue;
        loaded.meaning = &read.meaning;
        return;
    }
    for (const auto& [condition, meaning] : field.varies) {
        if (!condition_holds(condition)) continue;
        loaded.meaning = &meaning;
        return;
    }
}

/// A group's record is there, and not of a version that this release refuses.
bool has_record(const CompiledRelease& compiled, const dump::Located& located, int group) {
    for (int g = group; g >= 0;) {
        const auto& instance = compiled.instances().groups()[static_cast<std::size_t>(g)];
        const schema::Group& described = compiled.release().groups[static_cast<std::size_t>(instance.group)];
        // One without a record of its own stands in that of the group around it.
        if (!located.present(instance.anchor)) return false;
        const auto version = located.version_of(instance.anchor);
        if (described.version_at_most && version && *version > *described.version_at_most) return false;
        g = instance.parent;
    }
    return true;
}

}  // namespace

LoadedPreset load(const CompiledRelease& compiled, const Image& image_in, const Assumptions& assumptions,
                  const HeldValues& held) {
    LoadedPreset preset;
    Image image = image_in;
    const schema::Release& release = compiled.release();
    Bytes copy;
    const ByteView body = image.as_it_stands ? image.body : repaired(release, image.body, copy, preset.repairs);
    image.body = body;
    if (!image.as_it_stands) check_acceptance(compiled, image, body, assumptions, preset);
    if (preset.refused) return preset;
    const Action beyond = settle_size(compiled, image, body, assumptions, preset);
    if (preset.refused) return preset;
    const schema::Layout& layout = release.layouts[image.layout];
    const bool records = layout.records.has_value() || layout.notation != schema::Notation::bytes;
    const std::size_t expected = records ? body.size() : release.layouts[image.layout].body_size;
    const ByteView read = body.first(std::min(body.size(), expected));
    std::optional<dump::Located> own;
    const auto find = [&](bool last_wins) -> const dump::Located& {
        return dump::located_in(compiled.instances(), layout, read, image.named, own, last_wins);
    };
    const dump::Located* found = &find(false);
    if (last_counts(compiled, *found, assumptions, preset)) found = &find(true);
    const dump::Located& located = *found;
    settle_records(compiled, located, image, read, assumptions, preset);
    if (preset.refused) return preset;
    image.located = &located;

    preset.fields.resize(compiled.fields().size());
    const FieldLoader loader{compiled, beyond, assumptions, preset.asked, image.as_it_stands};
    std::vector<int> refused_in;  // groups of fields whose refusal takes the block
    for (const int index : compiled.order()) {
        const BoundField& field = compiled.fields()[static_cast<std::size_t>(index)];
        Loaded& loaded = preset.fields[static_cast<std::size_t>(index)];
        const auto condition_holds = [&](int condition) {
            return holds(compiled.conditions()[static_cast<std::size_t>(condition)], compiled, preset.fields, image,
                         assumptions, &preset.asked_facts);
        };
        const bool of_unit = field.parameter->scope == schema::Scope::unit;
        const bool here = !of_unit || !image.settings.empty();
        loaded.exists = here && has_record(compiled, located, field.group) &&
                        std::all_of(field.conditions.begin(), field.conditions.end(), condition_holds);
        choose_meaning(field, condition_holds, loaded);
        if (field.field->anchor >= 0 && located.present(field.field->anchor)) {
            loaded.record = static_cast<std::int64_t>(located.span_of(field.field->anchor).offset);
        }
        const ByteView bytes = of_unit ? image.settings : located.bytes_of(*field.field, read);
        const auto refused = loader.load_field(field, bytes, loaded);
        if (field.counted_by_length && !loaded.in_image) loaded.exists = false;
        if (loaded.act == Act::held && loaded.exists) {
            if (const auto assumed = held.find(index); assumed != held.end()) {
                loaded.stored = assumed->second;
                loaded.assumed = true;
                interpret(field, loaded);
            }
            preset.any_unknown = preset.any_unknown || loaded.unknown();
        }
        if (!refused || !loaded.exists) continue;
        if (*refused == Refuses::preset || *refused == Refuses::dump) {
            refuse(preset, *refused, "it does not take the stored number of " + field.field->id);
            preset.fields.clear();
            return preset;
        }
        if (*refused == Refuses::block) refused_in.push_back(field.group);
    }
    // Last, so that what was loaded after the refusal is taken along too.
    for (const int group : refused_in) refuse_block(compiled, group, preset.fields);
    return preset;
}

}  // namespace downfit::compat
