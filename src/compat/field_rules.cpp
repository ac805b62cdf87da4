#include "compat/field_rules.h"

#include <algorithm>
#include <cmath>

namespace downfit::compat {
namespace {

using dump::Stored;
using schema::Action;
using schema::Kind;
using schema::Refuses;
using schema::Rule;

Stored zero_of(const schema::Storage& storage) {
    Stored stored;
    if (storage.coding == schema::Coding::text) {
        stored.kind = Stored::Kind::text;
    } else if (storage.coding == schema::Coding::float32 || storage.coding == schema::Coding::float64) {
        stored.kind = Stored::Kind::real;
    } else {
        stored.kind = Stored::Kind::whole;
        // All bits zero are the least number of an offset coding.
        if (storage.coding == schema::Coding::offset_binary) stored.whole = dump::least_stored(storage);
    }
    return stored;
}

/// The stored number nearest to a value, in the field's own coding.
Stored stored_number(const BoundField& field, const BoundMeaning& meaning, double value) {
    return stored_of_setting(value, *field.parameter, *meaning.meaning);
}

void put(const BoundField& field, Loaded& loaded, const Stored& stored, Act act) {
    loaded.stored = stored;
    loaded.act = act;
    interpret(field, loaded);
}

double value_at(const BoundField& field, const BoundMeaning& meaning, double stored) {
    (void)field;
    return meaning.meaning->scale.value_of(stored);
}

}  // namespace

void interpret(const BoundField& field, Loaded& loaded) {
    loaded.choice = nullptr;
    const Kind kind = field.parameter->kind;
    if (kind == Kind::text || loaded.stored.kind == Stored::Kind::text) return;
    const schema::Meaning& meaning = *loaded.meaning->meaning;
    if (names_things(*field.parameter, meaning)) {
        loaded.choice = meaning.choices->find(loaded.stored.whole);
        loaded.value = static_cast<double>(loaded.stored.whole);
        return;
    }
    if (kind == Kind::on_off) {
        loaded.value = is_on(field, loaded) ? 1.0 : 0.0;
        return;
    }
    loaded.value = value_at(field, *loaded.meaning, loaded.stored.number());
}

Action FieldLoader::action(Rule rule, const BoundField& field) const {
    const auto index = static_cast<std::size_t>(rule);
    if (assumptions.instead[index]) return *assumptions.instead[index];
    if (const auto stated = field.rules[rule]) return *stated;
    if (assumptions.actions[index]) return *assumptions.actions[index];
    asked.set(index);
    return schema::row_of(rule).actions[0];
}

void FieldLoader::take_missing(const BoundField& field, Loaded& loaded) const {
    const Stored& preset_default = loaded.meaning->default_stored;
    // What has no record was not stored; what lies beyond the body's end was cut off.
    const bool not_stored = field.field->anchor >= 0;
    // A parameter may say otherwise than its release, which has asked about the whole body before.
    const bool of_parameter = !as_it_stands && !assumptions.instead[static_cast<std::size_t>(Rule::shorter_image)];
    const Action cut_off = of_parameter ? field.parameter->rules[Rule::shorter_image].value_or(beyond) : beyond;
    const Action what = as_it_stands ? Action::use_default
                        : not_stored ? (loaded.exists ? action(Rule::missing_parameter, field) : beyond)
                                     : cut_off;
    if (what == Action::refuse) {
        loaded.stored = loaded.read = zero_of(field.parameter->storage);
        return put(field, loaded, loaded.stored, Act::refused);
    }
    if (what == Action::held) return put(field, loaded, zero_of(field.parameter->storage), Act::held);
    if (what == Action::zero) {
        loaded.read = zero_of(field.parameter->storage);
        return put(field, loaded, loaded.read, Act::nothing);
    }
    const bool given = preset_default.kind != Stored::Kind::none;
    put(field, loaded, given ? preset_default : zero_of(field.parameter->storage), Act::defaulted);
}

std::optional<Refuses> FieldLoader::load_field(const BoundField& field, ByteView bytes, Loaded& loaded) const {
    const auto& reads = field.field->reads;
    loaded.read =
        dump::read_field(loaded.read_index < reads.size() ? reads[loaded.read_index] : field.field->storage, bytes);
    loaded.in_image = loaded.read.kind != Stored::Kind::none;
    if (!loaded.in_image) {
        take_missing(field, loaded);
        if (loaded.act == Act::refused && loaded.exists) return field.rules.refuses.value_or(Refuses::preset);
        if (loaded.act != Act::nothing) return std::nullopt;
    }
    loaded.stored = loaded.read;
    interpret(field, loaded);
    if (!loaded.exists || as_it_stands) return std::nullopt;
    switch (field.parameter->kind) {
        case Kind::text: return load_text(field, loaded);
        case Kind::choice:
        case Kind::reference:
            if (names_things(*field.parameter, *loaded.meaning->meaning)) return load_choice(field, loaded);
            if (loaded.stored.is(field.parameter->nothing)) return std::nullopt;
            return load_number(field, loaded);
        case Kind::opaque: return std::nullopt;
        case Kind::on_off:
        case Kind::whole:
        case Kind::real: break;
    }
    // An override that means "as in the preset itself" is not a value, so no range holds for it.
    if (loaded.stored.is(field.parameter->as_base) && field.overrides >= 0) return std::nullopt;
    return load_number(field, loaded);
}

std::optional<Refuses> FieldLoader::load_text(const BoundField& field, Loaded& loaded) const {
    const schema::Storage& storage = field.field->storage;
    if (storage.notation != schema::Notation::bytes && storage.text_length > 0 &&
        loaded.read.text.size() > storage.text_length) {
        if (action(Rule::long_text, field) == Action::refuse) return field.rules.refuses.value_or(Refuses::preset);
        std::size_t length = storage.text_length;
        while (length > 0 && (static_cast<unsigned char>(loaded.read.text[length]) & 0xC0) == 0x80) --length;
        loaded.stored.text.resize(length);
        loaded.act = Act::cut;
    }
    const bool shown = storage.encoding != schema::Encoding::ascii ||
                       std::all_of(loaded.read.text.begin(), loaded.read.text.end(),
                                   [](char c) { return static_cast<unsigned char>(c) < 0x80; });
    if (shown) return std::nullopt;
    if (action(Rule::long_text, field) == Action::refuse) {
        loaded.act = Act::refused;
        return field.rules.refuses.value_or(Refuses::preset);
    }
    std::string plain;
    for (const char c : loaded.stored.text) {
        const auto byte = static_cast<unsigned char>(c);
        // By name texts are UTF-8, where a character may have several bytes.
        const bool continues = storage.notation != schema::Notation::bytes && (byte & 0xC0) == 0x80;
        if (!continues) plain += byte >= 0x80 ? '?' : c;
    }
    loaded.stored.text = std::move(plain);
    loaded.act = Act::cut;
    return std::nullopt;
}

std::optional<Refuses> FieldLoader::load_choice(const BoundField& field, Loaded& loaded) const {
    const auto special = loaded.stored.whole;
    if (loaded.choice != nullptr || field.parameter->nothing == special) return std::nullopt;
    if (field.overrides >= 0 && field.parameter->as_base == special) return std::nullopt;
    loaded.known = false;
    const schema::ChoiceList& choices = *loaded.meaning->meaning->choices;
    Stored stored = loaded.stored;
    switch (action(Rule::unknown_choice, field)) {
        case Action::clamp:
            if (const schema::Choice* nearest = choices.nearest(special)) stored.whole = nearest->number;
            put(field, loaded, stored, Act::clamped);
            return std::nullopt;
        case Action::reset:
            if (loaded.meaning->default_stored.kind == Stored::Kind::whole) {
                put(field, loaded, loaded.meaning->default_stored, Act::reset);
                return std::nullopt;
            }
            [[fallthrough]];
        case Action::first:
            if (!choices.choices.empty()) stored.whole = choices.choices.front().number;
            put(field, loaded, stored, Act::reset);
            return std::nullopt;
        case Action::refuse: loaded.act = Act::refused; return field.rules.refuses.value_or(Refuses::preset);
        default: loaded.act = Act::kept_out; return std::nullopt;
    }
}

std::optional<Refuses> FieldLoader::load_number(const BoundField& field, Loaded& loaded) const {
    if (loaded.stored.kind == Stored::Kind::real && std::isnan(loaded.stored.real)) loaded.known = false;
    if (loaded.meaning->bounded) {
        if (const auto refused = settle_range(field, loaded)) return refused;
    }
    // What it was held at, or wrapped to, it loads like any other number: if off the grid, by that rule.
    const bool moved = loaded.act == Act::clamped || loaded.act == Act::wrapped;
    const bool is_between = field.parameter->kind == Kind::whole && loaded.stored.kind == Stored::Kind::real;
    const bool has_grid = loaded.meaning->meaning->step || is_between;
    if ((moved || loaded.act == Act::nothing) && has_grid) settle_step(field, loaded);
    return std::nullopt;
}

std::optional<Refuses> FieldLoader::settle_range(const BoundField& field, Loaded& loaded) const {
    const BoundMeaning& meaning = *loaded.meaning;
    // Whole numbers are judged as stored: the ends of the range are the stored numbers nearest to them.
    const double tolerance = field.rules.tolerance.value_or(0.0);
    const double stored = loaded.stored.number();
    const bool whole = loaded.stored.kind == Stored::Kind::whole;
    const bool tolerated = loaded.value >= meaning.least - tolerance && loaded.value <= meaning.most + tolerance;
    const bool inside = whole ? (stored >= meaning.stored_low && stored <= meaning.stored_high) : tolerated;
    // A tolerance only widens: what stands at the stored number nearest to an end is inside without it.
    if (inside || (tolerance > 0 && tolerated)) return std::nullopt;
    // The nearest end, where the digits of the scale decide on which side it lies.
    const bool too_low = loaded.value <= meaning.most &&
                         (loaded.value < meaning.least || loaded.value - meaning.least < meaning.most - loaded.value);
    switch (action(Rule::out_of_range, field)) {
        case Action::clamp:
            put(field, loaded, stored_number(field, meaning, too_low ? meaning.least : meaning.most), Act::clamped);
            return std::nullopt;
        case Action::reset: {
            const bool given = meaning.default_stored.kind != Stored::Kind::none;
            put(field, loaded, given ? meaning.default_stored : stored_number(field, meaning, meaning.least),
                Act::reset);
            return std::nullopt;
        }
        case Action::wrap: {
            const double span = meaning.stored_high - meaning.stored_low + (whole ? 1.0 : 0.0);
            Stored wrapped = loaded.stored;
            double shifted = span > 0 ? std::fmod(stored - meaning.stored_low, span) : 0.0;
            if (shifted < 0) shifted += span;
            wrapped.real = meaning.stored_low + shifted;
            wrapped.whole = whole ? std::llround(meaning.stored_low + shifted) : 0;
            if (whole) wrapped.real = 0;
            put(field, loaded, wrapped, Act::wrapped);
            return std::nullopt;
        }
        case Action::refuse: loaded.act = Act::refused; return field.rules.refuses.value_or(Refuses::preset);
        default: break;
    }
    const bool plays = loaded.value >= meaning.plays_least && loaded.value <= meaning.plays_most;
    if (!plays) loaded.act = Act::kept_out;
    return std::nullopt;
}

void FieldLoader::settle_step(const BoundField& field, Loaded& loaded) const {
    const double step = loaded.meaning->meaning->step.value_or(1.0);
    if (!std::isfinite(loaded.value)) return;
    double steps = std::round((loaded.value - loaded.meaning->least) / step);
    // The last step may lie before the end of the range: the release cannot hold a number beyond it.
    if (loaded.value <= loaded.meaning->most)
        steps = std::min(steps, std::floor((loaded.meaning->most - loaded.meaning->least) / step + 1e-9));
    const double grid = loaded.meaning->least + steps * step;
    const Stored nearest = stored_number(field, *loaded.meaning, grid);
    if (nearest == loaded.stored || same_amount({loaded.value, BaseUnit::plain}, {grid, BaseUnit::plain})) return;
    if (action(Rule::off_step, field) != Action::round) return;
    put(field, loaded, nearest, loaded.act == Act::nothing ? Act::rounded : loaded.act);
}

void refuse_block(const CompiledRelease& compiled, int group, std::vector<Loaded>& fields) {
    const auto& groups = compiled.groups();
    int root = group;
    for (int g = group; g >= 0; g = groups[static_cast<std::size_t>(g)].parent) {
        if (groups[static_cast<std::size_t>(g)].group->kind == schema::GroupKind::block) root = g;
    }
    for (std::size_t i = 0; i < fields.size(); ++i) {
        for (int g = compiled.fields()[i].group; g >= 0; g = groups[static_cast<std::size_t>(g)].parent) {
            if (g == root) fields[i].act = Act::refused;
        }
    }
}

}  // namespace downfit::compat
