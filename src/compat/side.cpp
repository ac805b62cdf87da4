#include "compat/side.h"

#include <algorithm>
#include <cmath>

#include "dump/tree.h"

namespace downfit::compat {
namespace {

using schema::Kind;
using schema::Role;

bool is_number_like(Class kind) {
    return kind == Class::number || kind == Class::on_off || kind == Class::asset;
}

bool same_numbers(const Side& n, const Side& t) {
    if (std::isnan(n.amount().value) && std::isnan(t.amount().value)) return true;  // neither is a number
    if (same_amount(n.amount(), t.amount())) return true;
    const bool floats = n.field->field->storage.coding == schema::Coding::float32 ||
                        t.field->field->storage.coding == schema::Coding::float32;
    return floats && n.amount().unit == t.amount().unit &&
           static_cast<float>(n.amount().value) == static_cast<float>(t.amount().value);
}

bool same_things(const Side& n, const Side& t) {
    if (n.at_nothing() || t.at_nothing()) return n.at_nothing() && t.at_nothing();
    const std::string n_target = n.target_key();
    const std::string t_target = t.target_key();
    if (!n_target.empty()) return n_target == t_target;
    if (n.loaded->choice == nullptr || t.loaded->choice == nullptr) {
        // Two numbers without meaning are the same thing only as numbers.
        return n.loaded->choice == t.loaded->choice && n.loaded->stored.whole == t.loaded->stored.whole;
    }
    return n.loaded->choice->meaning == t.loaded->choice->meaning;
}

/// Compared as what they show; bytes that show nothing are the same only as bytes.
bool same_texts(const Side& n, const Side& t) {
    const dump::Utf8Text before = dump::to_utf8(n.loaded->stored.text, n.field->field->storage.encoding);
    const dump::Utf8Text after = dump::to_utf8(t.loaded->stored.text, t.field->field->storage.encoding);
    if (before.complete && after.complete) return before.text == after.text;
    return n.loaded->stored.text == t.loaded->stored.text;
}

std::string factory_content(const Side& side) {
    const schema::AssetKind& asset = *side.release->release().asset(side.field->parameter->refers_to);
    const auto found = asset.contents.find(static_cast<int>(side.loaded->value));
    return found == asset.contents.end() ? std::string() : found->second;
}

bool same_assets(const Side& n, const Side& t) {
    if (n.at_nothing() || t.at_nothing()) return n.at_nothing() && t.at_nothing();
    if (n.field->parameter->refers_to != t.field->parameter->refers_to) return false;
    if (n.by_text() || t.by_text()) {
        return n.field->parameter->refers_by == t.field->parameter->refers_by &&
               n.loaded->stored.text == t.loaded->stored.text;
    }
    if (!same_amount(n.amount(), t.amount())) return false;
    const std::string before = factory_content(n);
    const std::string after = factory_content(t);
    return before.empty() || after.empty() || before == after;
}

/// What a difference between things that are no numbers weighs.
Weight weight_of_thing(const Side& side) {
    if (side.is_model()) return Weight::severe;
    if (side.kind() == Class::text) return Weight::slight;
    return Weight::audible;
}

bool at_neutral(const Side& side) {
    const BoundMeaning& meaning = side.meaning();
    switch (side.kind()) {
        case Class::thing:
            return side.at_nothing() ||
                   (side.loaded->choice != nullptr && side.loaded->choice->meaning == meaning.neutral_meaning);
        case Class::asset: return side.at_nothing() || (meaning.neutral && side.loaded->value == *meaning.neutral);
        case Class::text: return meaning.neutral_text && side.loaded->stored.text == *meaning.neutral_text;
        case Class::on_off: return meaning.neutral && side.loaded->value == *meaning.neutral;
        case Class::number:
        case Class::opaque: break;
    }
    return false;
}

}  // namespace

Class Side::kind() const {
    switch (field->parameter->kind) {
        case Kind::text: return Class::text;
        case Kind::on_off: return Class::on_off;
        case Kind::opaque: return Class::opaque;
        case Kind::choice:
        case Kind::reference:
            if (names_things(*field->parameter, *loaded->meaning->meaning)) return Class::thing;
            return release->release().asset(field->parameter->refers_to) != nullptr ? Class::asset : Class::number;
        case Kind::whole:
        case Kind::real: break;
    }
    return Class::number;
}

bool Side::as_base() const {
    return field->overrides >= 0 && loaded->stored.is(field->parameter->as_base);
}

bool Side::by_text() const {
    return field->parameter->kind == Kind::reference && field->parameter->refers_by != schema::RefersBy::number;
}

bool Side::at_nothing() const {
    if (by_text()) return loaded->stored.text.empty();
    return field->parameter->kind == Kind::reference && loaded->stored.is(field->parameter->nothing);
}

std::string Side::target_key() const {
    const int target = target_of(*loaded);
    return target < 0 ? std::string() : release->fields()[static_cast<std::size_t>(target)].field->key;
}

bool Side::is_model() const {
    return role() == Role::model || kind() == Class::asset;
}

bool is_nowhere(const Side& side) {
    if (side.field == nullptr || side.field->field->anchor < 0) return false;
    const auto anchor = static_cast<std::size_t>(side.field->field->anchor);
    const auto& pick = side.release->instances().anchors()[anchor].pick;
    return pick && pick->nowhere;
}

bool same(const Side& n, const Side& t) {
    if (n.as_base() || t.as_base()) return n.as_base() && t.as_base();
    const Class left = n.kind();
    const Class right = t.kind();
    if (left != right) {
        return is_number_like(left) && is_number_like(right) && same_numbers(n, t);
    }
    switch (left) {
        case Class::text: return same_texts(n, t);
        case Class::thing: return same_things(n, t);
        case Class::asset: return same_assets(n, t);
        case Class::opaque: return n.loaded->stored == t.loaded->stored;
        case Class::on_off:
        case Class::number: break;
    }
    return same_numbers(n, t);
}

Weight number_difference(const Side& n, const Amount& before, const Amount& after, const Hearing& hearing,
                         Judgement& judgement) {
    const auto steps = noticeable_steps(before, after, n.role(), n.meaning().span, hearing);
    Weight weight = steps ? weight_of_steps(*steps, hearing) : Weight::audible;
    // The number of a model is no amount: one beside it is another model, however near.
    if (n.is_model() && !same_amount(before, after)) weight = Weight::severe;
    if (n.role() == Role::level) {
        const auto rise = level_rise_db(before, after);
        if (rise && *rise >= hearing.louder_db) {
            judgement.caution = CautionKind::louder;
            judgement.rise_db = std::max(judgement.rise_db, *rise);
            weight = Weight::severe;
        } else if (!rise) {
            judgement.caution = judgement.caution.value_or(CautionKind::level_unknown);
        }
    }
    if (n.role() == Role::feedback && reaches_unity(after) && !reaches_unity(before)) {
        judgement.caution = CautionKind::feedback;
        weight = Weight::severe;
    }
    return weight;
}

Weight difference(const Side& n, const Side& t, const Hearing& hearing, Judgement& judgement) {
    if (same(n, t)) return Weight::none;
    // One side takes its value from the preset itself and the other does not: no pair of numbers to compare.
    if (n.as_base() || t.as_base()) return std::max(weight_of_thing(n), Weight::audible);
    const Class left = n.kind();
    const Class right = t.kind();
    if (left == Class::number && right == Class::number) {
        return number_difference(n, n.amount(), t.amount(), hearing, judgement);
    }
    return std::max(weight_of_thing(n), weight_of_thing(t));
}

Weight difference_from_neutral(const Side& side, bool on_loading, const Hearing& hearing, Judgement& judgement) {
    if (side.as_base() || at_neutral(side)) return Weight::none;
    if (side.kind() != Class::number) return weight_of_thing(side);
    if (!side.meaning().neutral) return side.is_model() ? Weight::severe : Weight::audible;
    const Amount neutral = amount_of(*side.meaning().neutral, side.meaning().meaning->unit);
    if (on_loading) return number_difference(side, neutral, side.amount(), hearing, judgement);
    return number_difference(side, side.amount(), neutral, hearing, judgement);
}

double value_at_share(const Side& side, double share) {
    const BoundMeaning& meaning = side.meaning();
    double stored = meaning.stored_low + std::clamp(share, 0.0, 1.0) * (meaning.stored_high - meaning.stored_low);
    if (side.loaded->stored.kind == dump::Stored::Kind::whole) stored = std::floor(stored + 0.5);
    return meaning.meaning->scale.value_of(stored);
}

}  // namespace downfit::compat
