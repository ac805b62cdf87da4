#include "dump/value_text.h"

#include <algorithm>
#include <cmath>
#include <variant>

#include "base/text.h"
#include "dump/tree.h"

namespace downfit::dump {

namespace {

using schema::Kind;
using schema::Meaning;
using schema::Parameter;
using schema::Release;

constexpr double noise = 1e-9;

std::string whole_text(std::int64_t number) {
    std::string text;
    append_number(text, number);
    return text;
}

/// What a number refers to that no list of choices names.
std::string target_text(const Release& release, const Parameter& parameter, std::int64_t number) {
    if (parameter.refers_to == "preset") return whole_text(number + release.slots.first);
    const schema::AssetKind* kind = release.asset(parameter.refers_to);
    if (!kind) return whole_text(number);
    const std::int64_t shown = number + kind->first;
    if (number < 0 || number >= kind->count) return "?";
    const auto content = kind->contents.find(static_cast<int>(shown));
    return whole_text(shown) + (content == kind->contents.end() ? "" : " (" + content->second + ")");
}

bool is_nothing(const Parameter& parameter, const Stored& stored) {
    return parameter.nothing && stored.kind != Stored::Kind::text && stored.is(parameter.nothing);
}

bool is_as_base(const Parameter& parameter, const Stored& stored) {
    return parameter.as_base && stored.kind != Stored::Kind::text && stored.is(parameter.as_base);
}

}  // namespace

std::string_view unit_suffix(schema::Unit unit) {
    switch (unit) {
        case schema::Unit::db: return " dB";
        case schema::Unit::hz: return " Hz";
        case schema::Unit::khz: return " kHz";
        case schema::Unit::ms: return " ms";
        case schema::Unit::s: return " s";
        case schema::Unit::cents: return " cents";
        case schema::Unit::semitones: return " semitones";
        case schema::Unit::bpm: return " bpm";
        case schema::Unit::percent: return " %";
        case schema::Unit::degrees: return " degrees";
        case schema::Unit::ratio:
        case schema::Unit::none: break;
    }
    return "";
}

double value_of(const Parameter& parameter, const Meaning& meaning, const Stored& stored) {
    if (parameter.kind == Kind::on_off) return stored.whole == parameter.on ? 1 : 0;
    return meaning.scale.identity() ? stored.number() : meaning.scale.value_of(stored.number());
}

std::string value_text(const Release& release, const Parameter& parameter, const Meaning& meaning,
                       const Stored& stored) {
    if (stored.kind == Stored::Kind::none) return {};
    if (stored.kind == Stored::Kind::text) return to_utf8(stored.text, parameter.storage.encoding).text;
    if (is_as_base(parameter, stored)) return "as in the preset";
    if (is_nothing(parameter, stored)) return "nothing";
    if (parameter.kind == Kind::on_off) return stored.whole == parameter.on ? "On" : "Off";
    if (meaning.choices) {
        const schema::Choice* choice = meaning.choices->find(stored.whole);
        return choice ? choice->label : "?";
    }
    if (parameter.kind == Kind::reference) return target_text(release, parameter, stored.whole);
    return number_text(value_of(parameter, meaning, stored)) + std::string(unit_suffix(meaning.unit));
}

bool same_value(double a, double b) {
    if (a == b) return true;
    return std::fabs(a - b) <= noise * std::max({1.0, std::fabs(a), std::fabs(b)});
}

bool is_setting(const Parameter& parameter, const Meaning& meaning, const Stored& stored,
                const schema::Setting& setting) {
    if (stored.kind == Stored::Kind::none) return false;
    if (const auto* label = std::get_if<std::string>(&setting)) {
        if (stored.kind == Stored::Kind::text) return to_utf8(stored.text, parameter.storage.encoding).text == *label;
        if (parameter.kind == Kind::on_off) return *label == (stored.whole == parameter.on ? "On" : "Off");
        const schema::Choice* choice = meaning.choices ? meaning.choices->find(stored.whole) : nullptr;
        return choice && choice->label == *label;
    }
    const double wanted = std::get<double>(setting);
    if (stored.kind == Stored::Kind::text) return false;
    if (parameter.kind == Kind::on_off) return (wanted != 0) == (stored.whole == parameter.on);
    if (same_value(value_of(parameter, meaning, stored), wanted)) return true;
    // A value between two stored numbers is held by the nearest of them.
    const double raw = meaning.scale.identity() ? wanted : meaning.scale.stored_of(wanted);
    if (stored.kind == Stored::Kind::whole) return !meaning.scale.identity() && std::round(raw) == stored.number();
    return parameter.storage.coding == schema::Coding::float32 &&
           static_cast<float>(raw) == static_cast<float>(stored.real);
}

bool is_beyond_range(const Parameter& parameter, const Meaning& meaning, const Stored& stored) {
    const bool number = stored.kind == Stored::Kind::whole || stored.kind == Stored::Kind::real;
    if (!number || !meaning.range || meaning.choices || parameter.kind == Kind::on_off) return false;
    if (is_nothing(parameter, stored) || is_as_base(parameter, stored)) return false;
    if (stored.kind == Stored::Kind::real) {
        const double value = value_of(parameter, meaning, stored);
        return !(value >= meaning.range->least && value <= meaning.range->most);
    }
    const double a = std::round(meaning.scale.stored_of(meaning.range->least));
    const double b = std::round(meaning.scale.stored_of(meaning.range->most));
    return stored.number() < std::min(a, b) || stored.number() > std::max(a, b);
}

}  // namespace downfit::dump
