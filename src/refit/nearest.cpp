#include "refit/nearest.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "dump/tree.h"

namespace downfit::refit {

namespace {

using compat::Amount;
using compat::Class;
using compat::Hearing;
using compat::Loaded;
using compat::Side;
using dump::Stored;
using schema::Coding;

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double most_exact = 9007199254740992.0;  // up to here every whole number is a double

bool is_float(const schema::Storage& storage) {
    return storage.coding == Coding::float32 || storage.coding == Coding::float64;
}

Stored whole_stored(std::int64_t number) {
    Stored stored;
    stored.kind = Stored::Kind::whole;
    stored.whole = number;
    return stored;
}

/// Numbers that stand for something else than a value.
bool is_taken(const Side& t, const Stored& stored) {
    const schema::Parameter& parameter = *t.field->parameter;
    if (t.field->overrides >= 0 && stored.is(parameter.as_base)) return true;
    return parameter.kind == schema::Kind::reference && stored.is(parameter.nothing);
}

/// The value of an amount in a unit: the inverse of amount_of, which only ever multiplies.
double value_of(const Amount& amount, schema::Unit unit) {
    return amount.value / compat::amount_of(1.0, unit).value;
}

struct Limits {
    double least = -infinite, most = infinite;
};

/// What T takes as it is: its range, or all that it plays where it keeps what lies beyond; what it tolerates; and the
/// stored numbers nearest to the ends, which may lie a little outside.
Limits limits_of(const Side& t) {
    const compat::BoundMeaning& meaning = t.meaning();
    const bool keeps = t.field->rules[schema::Rule::out_of_range] == schema::Action::keep;
    if (!meaning.bounded && is_float(storage_of(t))) return {};
    if (!meaning.bounded && storage_of(t).notation != schema::Notation::bytes) return {};
    Limits limits = keeps ? Limits{meaning.plays_least, meaning.plays_most} : Limits{meaning.least, meaning.most};
    if (!meaning.bounded) return limits;
    const double tolerance = t.field->rules.tolerance.value_or(0.0);
    limits.least = std::min(limits.least, meaning.least - tolerance);
    limits.most = std::max(limits.most, meaning.most + tolerance);
    if (is_float(storage_of(t))) return limits;
    for (const double end : {meaning.stored_low, meaning.stored_high}) {
        const double value = meaning.meaning->scale.value_of(end);
        limits.least = std::min(limits.least, value);
        limits.most = std::max(limits.most, value);
    }
    return limits;
}

/// Values around the wanted one that T can hold: those of its steps, and the wanted one itself, where T takes it.
std::vector<double> values_near(const Side& t, double wanted, const Limits& limits) {
    const double held = std::clamp(wanted, limits.least, limits.most);
    const std::optional<double> step = t.meaning().meaning->step;
    if (!step || !(*step > 0)) return {held};
    const double least = t.meaning().least;
    const double first = std::ceil((limits.least - least) / *step - 1e-9);
    const double last = std::floor((limits.most - least) / *step + 1e-9);
    const double near = (held - least) / *step;
    std::vector<double> values;
    for (const double steps : {std::floor(near), std::ceil(near), std::round(near)}) {
        const double held_steps =
            t.meaning().bounded ? std::clamp(steps, std::min(first, 0.0), std::max(last, 0.0)) : steps;
        values.push_back(least + held_steps * *step);
    }
    if (t.field->rules[schema::Rule::off_step] == schema::Action::keep) values.push_back(held);
    return values;
}

/// Stored numbers that come nearest to a value.
std::vector<Stored> codes_near(const Side& t, double value, bool on_grid) {
    const schema::Storage& storage = storage_of(t);
    const compat::BoundMeaning& meaning = t.meaning();
    const double raw = meaning.meaning->scale.stored_of(value);
    if (std::isnan(raw)) return {};
    if (is_float(storage)) {
        Stored stored;
        stored.kind = Stored::Kind::real;
        stored.real = storage.coding == Coding::float32 ? static_cast<double>(static_cast<float>(raw)) : raw;
        return {stored};
    }
    std::vector<Stored> codes;
    if (!(std::abs(raw) < most_exact)) return codes;
    std::vector<double> whole{std::round(raw)};
    if (!on_grid) whole = {std::floor(raw), std::ceil(raw), std::round(raw)};
    for (const double one : whole) codes.push_back(whole_stored(static_cast<std::int64_t>(one)));
    return codes;
}

bool fits(const Side& t, const Stored& stored, const Limits& limits) {
    if (is_taken(t, stored)) return false;
    const schema::Storage& storage = storage_of(t);
    if (stored.kind != Stored::Kind::whole) return std::isfinite(stored.real);
    if (stored.whole < dump::least_stored(storage) || stored.whole > dump::most_stored(storage)) return false;
    const compat::BoundMeaning& meaning = t.meaning();
    if (!meaning.bounded) return true;
    const auto number = static_cast<double>(stored.whole);
    if (number >= meaning.stored_low && number <= meaning.stored_high) return true;
    const bool wider = limits.least < meaning.least || limits.most > meaning.most;
    const double value = meaning.meaning->scale.value_of(number);
    return wider && value >= limits.least && value <= limits.most;
}

std::optional<Stored> nearest_number(const Side& n, const Side& t, const Hearing& hearing) {
    const schema::Unit unit = t.meaning().meaning->unit;
    const Amount meant = n.amount();
    if (std::isnan(meant.value) || meant.unit != compat::amount_of(0.0, unit).unit) return std::nullopt;
    const Limits limits = limits_of(t);
    const bool on_grid = t.meaning().meaning->step.has_value();
    std::optional<Stored> best;
    double best_steps = infinite;
    double best_gap = infinite;
    for (const double value : values_near(t, value_of(meant, unit), limits)) {
        for (const Stored& code : codes_near(t, value, on_grid)) {
            if (!fits(t, code, limits)) continue;
            const Loaded loaded = loaded_with(t, code);
            const Side there{t.release, t.field, &loaded};
            const double steps = distance(n, there, hearing);
            const double gap = std::abs(there.amount().value - meant.value);
            if (best && !(steps < best_steps || (steps == best_steps && gap < best_gap))) continue;
            best = code;
            best_steps = steps;
            best_gap = gap;
        }
    }
    return best;
}

std::optional<Stored> same_thing(const Side& n, const Side& t) {
    if (n.at_nothing()) return stored_nothing(t);
    if (n.loaded->choice == nullptr || t.meaning().meaning->choices == nullptr) return std::nullopt;
    for (const schema::Choice& choice : t.meaning().meaning->choices->choices) {
        const Loaded loaded = loaded_with(t, whole_stored(choice.number));
        if (compat::same(n, {t.release, t.field, &loaded})) return loaded.stored;
    }
    return std::nullopt;
}

/// How many bytes a UTF-8 text of at most `most` bytes may take without cutting a character.
std::size_t whole_characters(const std::string& text, std::size_t most) {
    std::size_t length = std::min(text.size(), most);
    while (length > 0 && length < text.size() && (static_cast<unsigned char>(text[length]) & 0xC0) == 0x80) --length;
    return length;
}

/// Bytes of a text, as many as the place takes, without padding.
Stored text_in_place(std::string bytes, const schema::Storage& storage) {
    Stored stored;
    stored.kind = Stored::Kind::text;
    stored.text = std::move(bytes);
    const std::size_t most = storage.text_length > 0 ? storage.text_length : stored.text.size();
    const bool bytes_each = storage.encoding != schema::Encoding::utf8;
    stored.text.resize(bytes_each ? std::min(stored.text.size(), most) : whole_characters(stored.text, most));
    const bool pads = storage.notation == schema::Notation::bytes;
    while (pads && !stored.text.empty() && static_cast<std::uint8_t>(stored.text.back()) == storage.padding)
        stored.text.pop_back();
    return stored;
}

std::optional<Stored> same_text(const Side& n, const Side& t) {
    const schema::Storage& from = storage_of(n);
    const schema::Storage& to = storage_of(t);
    const bool both_text = from.coding == Coding::text && to.coding == Coding::text;
    // Bytes that are no text in their encoding are still the same bytes there.
    if (both_text && from.encoding == to.encoding && from.notation == to.notation)
        return text_in_place(n.loaded->stored.text, to);
    const dump::Utf8Text text = dump::to_utf8(n.loaded->stored.text, from.encoding);
    if (!text.complete) return std::nullopt;
    return stored_setting(text.text, t);
}

std::optional<Stored> same_asset(const Side& n, const Side& t) {
    const schema::Parameter& parameter = *t.field->parameter;
    if (n.field->parameter->refers_to != parameter.refers_to || n.by_text() != t.by_text()) return std::nullopt;
    if (t.by_text()) {
        if (n.field->parameter->refers_by != parameter.refers_by) return std::nullopt;
        return stored_setting(n.loaded->stored.text, t);
    }
    return n.at_nothing() ? stored_nothing(t) : stored_setting(n.loaded->value, t);
}

/// UTF-8 in another encoding; "?" stands for what that does not have.
std::string encoded(const std::string& text, schema::Encoding encoding) {
    if (encoding == schema::Encoding::utf8) return text;
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        if (byte < 0x80) {
            out += text[i];
        } else if ((byte & 0xC0) != 0x80) {
            const bool latin = encoding == schema::Encoding::latin1 && (byte == 0xC2 || byte == 0xC3);
            out += latin ? static_cast<char>((byte == 0xC3 ? 0x40 : 0) | static_cast<unsigned char>(text[i + 1])) : '?';
        }
    }
    return out;
}

}  // namespace

const schema::Storage& storage_of(const Side& side) {
    const auto& reads = side.field->field->reads;
    return side.loaded->read_index < reads.size() ? reads[side.loaded->read_index] : side.field->field->storage;
}

Loaded loaded_with(const Side& t, const Stored& stored) {
    Loaded loaded = *t.loaded;
    loaded.exists = loaded.in_image = loaded.known = true;
    loaded.act = compat::Act::nothing;
    loaded.assumed = false;
    loaded.read = loaded.stored = stored;
    compat::interpret(*t.field, loaded);
    return loaded;
}

double distance(const Side& n, const Side& t, const Hearing& hearing) {
    if (compat::same(n, t)) return 0;
    const bool numbers = n.kind() == Class::number && t.kind() == Class::number && !n.as_base() && !t.as_base();
    if (!numbers) return infinite;
    return compat::noticeable_steps(n.amount(), t.amount(), n.role(), n.meaning().span, hearing).value_or(infinite);
}

std::optional<Stored> stored_setting(const schema::Setting& setting, const Side& t) {
    const schema::Storage& storage = storage_of(t);
    const auto* label = std::get_if<std::string>(&setting);
    const bool is_text = storage.coding == Coding::text;
    if (is_text) {
        if (label == nullptr) return std::nullopt;
        return text_in_place(encoded(*label, storage.encoding), storage);
    }
    Stored stored = compat::stored_of_setting(setting, *t.field->parameter, *t.meaning().meaning);
    if (stored.kind == Stored::Kind::none) return std::nullopt;
    if (is_float(storage) && stored.kind == Stored::Kind::whole) {
        stored.real = static_cast<double>(stored.whole);
        stored.whole = 0;
        stored.kind = Stored::Kind::real;
    }
    const bool holds =
        is_float(storage) || (stored.kind == Stored::Kind::whole && stored.whole >= dump::least_stored(storage) &&
                              stored.whole <= dump::most_stored(storage));
    return holds ? std::optional(stored) : std::nullopt;
}

std::optional<Stored> same_number(const Side& n, const Side& t) {
    if (n.kind() == Class::asset && t.kind() == Class::asset) {
        const auto stored = same_asset(n, t);
        if (!stored || is_taken(t, *stored)) return std::nullopt;
        const Loaded loaded = loaded_with(t, *stored);
        return compat::same(n, {t.release, t.field, &loaded}) ? stored : std::nullopt;
    }
    if (n.kind() != Class::number || t.kind() != Class::number || n.as_base()) return std::nullopt;
    const schema::Unit unit = t.meaning().meaning->unit;
    const Amount meant = n.amount();
    if (meant.unit != compat::amount_of(0.0, unit).unit) return std::nullopt;
    const schema::Storage& storage = storage_of(t);
    for (const Stored& code : codes_near(t, value_of(meant, unit), true)) {
        const Loaded loaded = loaded_with(t, code);
        const bool holds = is_float(storage) ||
                           (code.whole >= dump::least_stored(storage) && code.whole <= dump::most_stored(storage));
        if (holds && !is_taken(t, code) && compat::same(n, {t.release, t.field, &loaded})) return code;
    }
    return std::nullopt;
}

std::optional<Stored> stored_nothing(const Side& t) {
    const schema::Parameter& parameter = *t.field->parameter;
    if (t.by_text()) return stored_setting(std::string(), t);
    return parameter.nothing ? std::optional(whole_stored(*parameter.nothing)) : std::nullopt;
}

std::optional<Stored> stored_as_base(const Side& t) {
    const auto& as_base = t.field->parameter->as_base;
    return t.field->overrides >= 0 && as_base ? std::optional(whole_stored(*as_base)) : std::nullopt;
}

std::optional<Stored> nearest_stored(const Side& n, const Side& t, const Hearing& hearing) {
    if (n.as_base()) return stored_as_base(t);
    const Class left = n.kind();
    const Class right = t.kind();
    const bool on_off = left == Class::on_off || right == Class::on_off;
    const bool counts =
        (left == Class::number || left == Class::on_off) && (right == Class::number || right == Class::on_off);
    std::optional<Stored> stored;
    if (on_off && counts) {
        stored = right == Class::on_off ? stored_setting(n.loaded->value != 0 ? 1.0 : 0.0, t)
                                        : stored_setting(n.loaded->value, t);
    } else if (left != right) {
        return std::nullopt;
    } else {
        switch (right) {
            case Class::number: return nearest_number(n, t, hearing);
            case Class::thing: return same_thing(n, t);
            case Class::text: return same_text(n, t);
            case Class::asset: stored = same_asset(n, t); break;
            case Class::opaque: stored = n.loaded->stored; break;
            case Class::on_off: break;
        }
    }
    if (!stored) return std::nullopt;
    const Loaded loaded = loaded_with(t, *stored);
    return compat::same(n, {t.release, t.field, &loaded}) ? stored : std::nullopt;
}

}  // namespace downfit::refit
