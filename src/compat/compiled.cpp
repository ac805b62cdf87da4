#include "compat/compiled.h"

#include <algorithm>
#include <cmath>

#include "compat/hearing.h"

namespace downfit::compat {
namespace {

using schema::Coding;
using schema::GroupKind;
using schema::Kind;

bool is_float(const schema::Storage& storage) {
    return storage.coding == Coding::float32 || storage.coding == Coding::float64;
}

/// Range ends as values, and as the stored numbers that come nearest.
void bind_range(BoundMeaning& bound, const schema::Parameter& parameter, const schema::Meaning& meaning) {
    const bool real = is_float(parameter.storage);
    const bool by_name = parameter.storage.notation != schema::Notation::bytes;
    if (meaning.range) {
        bound.bounded = true;
        bound.least = meaning.range->least;
        bound.most = meaning.range->most;
        double a = meaning.scale.stored_of(bound.least);
        double b = meaning.scale.stored_of(bound.most);
        if (!real) {
            a = std::round(a);
            b = std::round(b);
        }
        bound.stored_low = std::min(a, b);
        bound.stored_high = std::max(a, b);
    } else if (!real && !by_name) {
        bound.stored_low = static_cast<double>(dump::least_stored(parameter.storage));
        bound.stored_high = static_cast<double>(dump::most_stored(parameter.storage));
        const double a = meaning.scale.value_of(bound.stored_low);
        const double b = meaning.scale.value_of(bound.stored_high);
        bound.least = std::min(a, b);
        bound.most = std::max(a, b);
    }
    bound.plays_least = meaning.plays ? meaning.plays->least : bound.least;
    bound.plays_most = meaning.plays ? meaning.plays->most : bound.most;
    const double span = amount_of(bound.most, meaning.unit).value - amount_of(bound.least, meaning.unit).value;
    bound.span = std::isfinite(span) ? std::abs(span) : 0;
}

void bind_neutral(BoundMeaning& bound, const schema::Parameter& parameter, const schema::Meaning& meaning) {
    if (!meaning.neutral) return;
    if (const auto* label = std::get_if<std::string>(&*meaning.neutral)) {
        if (parameter.kind == Kind::text) bound.neutral_text = *label;
        if (meaning.choices == nullptr) return;
        const schema::Choice* choice = meaning.choices->find(*label);
        if (choice != nullptr) bound.neutral_meaning = choice->meaning;
        return;
    }
    const double number = std::get<double>(*meaning.neutral);
    if (names_things(parameter, meaning)) {
        const schema::Choice* choice = meaning.choices->find(static_cast<std::int64_t>(std::llround(number)));
        if (choice != nullptr) bound.neutral_meaning = choice->meaning;
        return;
    }
    bound.neutral = number;
}

BoundMeaning bind_meaning(const schema::Parameter& parameter, const schema::Meaning& meaning) {
    BoundMeaning bound;
    bound.meaning = &meaning;
    if (parameter.kind != Kind::text) bind_range(bound, parameter, meaning);
    if (meaning.preset_default) bound.default_stored = stored_of_setting(*meaning.preset_default, parameter, meaning);
    bind_neutral(bound, parameter, meaning);
    return bound;
}

/// The condition that a count reaches an index.
schema::Condition counted(const std::string& parameter, int index) {
    schema::Condition condition;
    condition.kind = schema::Condition::Kind::comparison;
    condition.name = parameter;
    condition.op = schema::Condition::Operator::at_least;
    condition.settings = {static_cast<double>(index)};
    return condition;
}

/// The fields that a condition asks.
void collect(const BoundCondition& condition, std::vector<int>& fields) {
    for (const BoundCondition& part : condition.parts) collect(part, fields);
    if (condition.field >= 0 && std::find(fields.begin(), fields.end(), condition.field) == fields.end()) {
        fields.push_back(condition.field);
    }
}

}  // namespace

dump::Stored stored_of_setting(const schema::Setting& setting, const schema::Parameter& parameter,
                               const schema::Meaning& meaning) {
    dump::Stored stored;
    if (const auto* label = std::get_if<std::string>(&setting)) {
        if (parameter.kind == Kind::text) {
            stored.kind = dump::Stored::Kind::text;
            stored.text = *label;
        } else if (meaning.choices != nullptr) {
            if (const schema::Choice* choice = meaning.choices->find(*label)) {
                stored.kind = dump::Stored::Kind::whole;
                stored.whole = choice->number;
            }
        }
        return stored;
    }
    const double number = std::get<double>(setting);
    if (parameter.kind == Kind::on_off) {
        stored.kind = dump::Stored::Kind::whole;
        stored.whole = number != 0 ? parameter.on : (parameter.on == 0 ? 1 : 0);
        return stored;
    }
    const double raw = meaning.scale.stored_of(number);
    if (std::isnan(raw)) return stored;
    if (is_float(parameter.storage)) {
        stored.kind = dump::Stored::Kind::real;
        stored.real = parameter.storage.coding == Coding::float32 ? static_cast<double>(static_cast<float>(raw)) : raw;
    } else {
        stored.kind = dump::Stored::Kind::whole;
        stored.whole = std::llround(raw);
    }
    return stored;
}

CompiledRelease::CompiledRelease(const schema::Device& device, const schema::Release& release)
    : device_(&device), instances_(release) {
    bind_groups();
    bind_fields();
    find_bearings();
    sort_fields();
}

int CompiledRelease::field_of(const std::string& id, int from) const {
    const auto found = instances_.resolve(id, from);
    return found ? static_cast<int>(*found) : -1;
}

BoundCondition CompiledRelease::bound(const schema::Condition& condition, int from) {
    BoundCondition out;
    out.kind = condition.kind;
    for (const schema::Condition& part : condition.parts) out.parts.push_back(bound(part, from));
    out.subject = condition.subject;
    out.op = condition.op;
    out.settings = condition.settings;
    if (condition.subject == schema::Condition::Subject::parameter) out.field = field_of(condition.name, from);
    if (condition.subject == schema::Condition::Subject::fact) out.fact = condition.name;
    out.at = condition.at;
    out.bytes = condition.bytes;
    if (condition.subject == schema::Condition::Subject::version) {
        for (int g = from; g >= 0 && out.anchor < 0; g = instances_.groups()[static_cast<std::size_t>(g)].parent) {
            out.anchor = instances_.groups()[static_cast<std::size_t>(g)].anchor;
        }
    }
    if (condition.subject == schema::Condition::Subject::stamp) {
        for (const schema::Setting& setting : condition.settings) {
            const auto* name = std::get_if<std::string>(&setting);
            if (name != nullptr) out.releases.push_back(device_->find_release(*name).value_or(0));
        }
    }
    return out;
}

int CompiledRelease::bind_condition(const schema::Condition& condition, int from) {
    conditions_.push_back(bound(condition, from));
    return static_cast<int>(conditions_.size()) - 1;
}

void CompiledRelease::bind_groups() {
    const auto& instances = instances_.groups();
    groups_.reserve(instances.size());
    for (std::size_t i = 0; i < instances.size(); ++i) {
        const schema::GroupInstance& instance = instances[i];
        const int self = static_cast<int>(i);
        const schema::Group& group = release().groups[static_cast<std::size_t>(instance.group)];
        BoundGroup out;
        out.group = &group;
        out.parent = instance.parent;
        out.index = instance.indices.back();
        if (instance.parent >= 0) {
            const BoundGroup& parent = groups_[static_cast<std::size_t>(instance.parent)];
            out.conditions = parent.conditions;
            out.scene = parent.scene;
            out.counted_by_length = parent.counted_by_length;
        }
        out.counted_by_length = out.counted_by_length || group.count_by_length;
        if (!group.count_by.empty()) out.conditions.push_back(bind_condition(counted(group.count_by, out.index), self));
        if (group.when) out.conditions.push_back(bind_condition(*group.when, self));
        if (group.cost) out.cost_field = field_of(group.cost->by, self);
        out.on_field = field_of(group.on_by, self);
        out.selector_field = field_of(group.selected_by, self);
        out.start_field = field_of(group.start_by, self);
        out.reference_field = field_of(group.controls, self);
        out.heel_field = field_of(group.heel, self);
        out.toe_field = field_of(group.toe, self);
        if (group.kind == GroupKind::scene) {
            out.scene = self;
            scenes_.push_back(self);
        }
        if (group.kind == GroupKind::controller || group.kind == GroupKind::control_switch) describes_controls_ = true;
        groups_.push_back(std::move(out));
    }
}

void CompiledRelease::bind_fields() {
    const auto& all = instances_.fields();
    fields_.resize(all.size());
    overrides_.resize(all.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
        const schema::Field& field = all[i];
        const schema::Parameter& parameter = instances_.parameter(field);
        BoundField& out = fields_[i];
        out.parameter = &parameter;
        out.field = &field;
        out.group = field.group;
        out.rules = parameter.rules.over(release().rules);
        const auto meaning_of = [&](const schema::Meaning& meaning) {
            BoundMeaning bound = bind_meaning(parameter, meaning);
            if (parameter.refers_to != "parameter" || meaning.choices == nullptr) return bound;
            for (const schema::Choice& choice : meaning.choices->choices) {
                bound.targets.push_back(field_of(choice.label, field.group));
            }
            return bound;
        };
        out.plain = meaning_of(parameter.plain);
        if (field.group >= 0) {
            out.conditions = groups_[static_cast<std::size_t>(field.group)].conditions;
            out.counted_by_length = groups_[static_cast<std::size_t>(field.group)].counted_by_length;
        }
        if (field.element > 0 && !parameter.count_by.empty()) {
            out.conditions.push_back(bind_condition(counted(parameter.count_by, field.element), field.group));
        }
        for (const schema::Read& read : parameter.reads) {
            out.reads.push_back({bind_condition(read.when, field.group), meaning_of(read.meaning)});
        }
        if (parameter.when) out.conditions.push_back(bind_condition(*parameter.when, field.group));
        for (const schema::VariedMeaning& varied : parameter.varies) {
            out.varies.emplace_back(bind_condition(varied.when, field.group), meaning_of(varied.meaning));
        }
        for (const int condition : out.conditions)
            collect(conditions_[static_cast<std::size_t>(condition)], out.depends_on);
        for (const auto& [condition, meaning] : out.varies) {
            collect(conditions_[static_cast<std::size_t>(condition)], out.depends_on);
        }
        for (const BoundRead& read : out.reads) {
            collect(conditions_[static_cast<std::size_t>(read.condition)], out.depends_on);
        }
        out.overrides = field_of(parameter.overrides, field.group);
        if (out.overrides >= 0 && field.group >= 0) {
            overrides_[static_cast<std::size_t>(out.overrides)].push_back(
                {static_cast<int>(i), groups_[static_cast<std::size_t>(field.group)].scene});
        }
    }
    for (const BoundGroup& group : groups_) {
        if (group.on_field >= 0) {
            fields_[static_cast<std::size_t>(group.on_field)].is_switch_of_block = true;
        }
    }
}

void CompiledRelease::find_bearings() {
    const auto bears = [&](int field, Bearing bearing) {
        if (field < 0) return;
        BoundField& bound = fields_[static_cast<std::size_t>(field)];
        bound.bearing = std::max(bound.bearing, bearing);
    };
    for (const BoundField& field : fields_) {
        for (const int asked : field.depends_on) bears(asked, Bearing::more);
    }
    for (const BoundGroup& group : groups_) {
        bears(group.on_field, Bearing::on_off);
        for (const int field : {group.selector_field, group.start_field, group.reference_field, group.heel_field,
                                group.toe_field, group.cost_field}) {
            bears(field, Bearing::more);
        }
    }
    for (BoundField& field : fields_) {
        if (field.overrides < 0) continue;
        field.bearing = std::max(field.bearing, fields_[static_cast<std::size_t>(field.overrides)].bearing);
    }
}

void CompiledRelease::sort_fields() {
    // Depth first; the loader has refused circles, and a field met twice is simply skipped.
    std::vector<bool> seen(fields_.size(), false);
    std::vector<std::pair<int, std::size_t>> stack;
    for (std::size_t start = 0; start < fields_.size(); ++start) {
        if (seen[start]) continue;
        stack.emplace_back(static_cast<int>(start), 0);
        seen[start] = true;
        while (!stack.empty()) {
            auto& [field, next] = stack.back();
            const auto& needs = fields_[static_cast<std::size_t>(field)].depends_on;
            if (next < needs.size()) {
                const int need = needs[next++];
                if (!seen[static_cast<std::size_t>(need)]) {
                    seen[static_cast<std::size_t>(need)] = true;
                    stack.emplace_back(need, 0);
                }
            } else {
                order_.push_back(field);
                stack.pop_back();
            }
        }
    }
}

}  // namespace downfit::compat
