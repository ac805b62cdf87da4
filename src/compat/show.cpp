#include "compat/show.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "compat/judge.h"
#include "dump/tree.h"
#include "dump/value_text.h"

namespace downfit::compat {
namespace {

std::string_view rule_of(const Side& t) {
    return t.kind() == Class::thing ? "unknown-choice" : "out-of-range";
}

std::string stated(std::string_view rule, std::string_view action) {
    return std::string(rule) + ": " + std::string(action);
}

std::size_t first_byte(const schema::Storage& storage) {
    if (storage.coding == schema::Coding::text) return static_cast<std::size_t>(storage.text_at);
    std::int64_t first = storage.pieces.empty() ? 0 : storage.pieces.front().byte;
    for (const schema::BitPiece& piece : storage.pieces) first = std::min(first, piece.byte);
    return static_cast<std::size_t>(first);
}

std::string stored_text(const Side& side, const dump::Stored& stored) {
    if (stored.kind == dump::Stored::Kind::text) {
        return dump::to_utf8(stored.text, side.field->field->storage.encoding).text;
    }
    if (const auto& words = side.field->field->storage.words) {
        const auto word = std::ranges::find(*words, stored.whole, &schema::Word::number);
        if (word != words->end()) return word->text;
        if (!stored.text.empty()) return stored.text;
    }
    return stored.kind == dump::Stored::Kind::real ? number_text(stored.real) : std::to_string(stored.whole);
}

std::string shown_value(const Side& side) {
    if (side.loaded->act == Act::held) return "whatever was there before";
    if (side.loaded->stored.kind == dump::Stored::Kind::text) return stored_text(side, side.loaded->stored);
    if (side.as_base()) return "as in the preset";
    if (side.at_nothing()) return "nothing";
    if (side.kind() == Class::on_off) return side.loaded->value != 0 ? "On" : "Off";
    if (side.kind() == Class::thing) {
        if (side.loaded->choice != nullptr) return side.loaded->choice->label;
        const std::string stored = stored_text(side, side.loaded->stored);
        return (side.field->field->storage.words ? '"' + stored + '"' : "number " + stored) + " (no such choice)";
    }
    return number_text(side.loaded->value) + std::string(dump::unit_suffix(side.meaning().meaning->unit));
}

/// Where a number stands on its range; nothing where it cannot be drawn.
std::optional<Reach> reach_of(const Side& side) {
    if (side.kind() != Class::number || !side.meaning().bounded || side.as_base()) return std::nullopt;
    const schema::Unit unit = side.meaning().meaning->unit;
    const Reach reach{amount_of(side.meaning().least, unit).value, amount_of(side.meaning().most, unit).value,
                      side.amount().value};
    const bool drawable = std::isfinite(reach.least) && std::isfinite(reach.most) && std::isfinite(reach.value);
    return drawable && reach.least < reach.most ? std::optional(reach) : std::nullopt;
}

}  // namespace

std::optional<std::size_t> body_byte(const Side& side) {
    const Loaded& loaded = *side.loaded;
    if (!loaded.in_image || side.field->parameter->scope == schema::Scope::unit) return std::nullopt;
    const auto& reads = side.field->field->reads;
    const bool by_read = loaded.read_index < reads.size();
    const auto start = static_cast<std::size_t>(std::max<std::int64_t>(loaded.record, 0));
    return start + first_byte(by_read ? reads[loaded.read_index] : side.field->field->storage);
}

std::string stamp_text(const schema::Stamp& stamp) {
    if (const auto* number = std::get_if<std::int64_t>(&stamp)) return std::to_string(*number);
    return std::get<std::string>(stamp);
}

Shown show_saved(const Side& side) {
    return {side.loaded->in_image ? std::optional(stored_text(side, side.loaded->read)) : std::nullopt,
            shown_value(side), reach_of(side)};
}

Shown show_loaded(const Side& side) {
    return {side.loaded->in_image ? std::optional(stored_text(side, side.loaded->stored)) : std::nullopt,
            shown_value(side), reach_of(side)};
}

std::string overflow_text(const Side& saved) {
    if (!saved.loaded->in_image) return {};
    const std::string& release = saved.release->release().name;
    switch (saved.loaded->act) {
        case Act::clamped: return release + " itself holds it at " + shown_value(saved);
        case Act::reset: return release + " itself puts " + shown_value(saved);
        case Act::wrapped: return release + " itself wraps it to " + shown_value(saved);
        default: return {};
    }
}

namespace {

/// The action that the schema states where it puts a choice of its own; `reset` where none is stated.
std::string_view reset_by(const Side& loading) {
    const bool first = loading.field->rules[schema::Rule::unknown_choice] == schema::Action::first;
    return rule_of(loading) == "unknown-choice" && first ? "first" : "reset";
}

}  // namespace

std::string rule_text(const Judgement& judgement, const Side& saved, const Side& loading, const Link& link,
                      const LoadedPreset& saved_preset, const CompiledRelease& saved_release) {
    if (judgement.other_use) return "used for something else there";
    if (judgement.put) return "the nearest that was put there";
    switch (judgement.outcome) {
        case Outcome::lost:
            if (loading.loaded == nullptr) return "no such parameter";
            return loading.exists() ? "refused" : "does not exist with these settings";
        case Outcome::added: return loading.loaded->in_image ? "not in the saving release" : "nothing to read: default";
        case Outcome::displaced:
            if (const PlacedField* other = displaced_by(link, loading, saved_preset)) {
                return "reads where " + saved_release.fields()[static_cast<std::size_t>(other->field)].field->id +
                       " is stored";
            }
            if (saved.loaded != nullptr && saved.loaded->record >= 0 && loading.loaded->record >= 0 &&
                saved.loaded->record != loading.loaded->record)
                return "takes another record of that number";
            return "reads bytes that the saving release does not use";
        case Outcome::clamped: return stated(rule_of(loading), "clamp");
        case Outcome::reset:
            return loading.loaded->act == Act::defaulted ? "nothing to read: default"
                                                         : stated(rule_of(loading), reset_by(loading));
        case Outcome::out_of_range: return stated(rule_of(loading), "keep");
        case Outcome::rounded: return stated("off-step", "round");
        case Outcome::rescaled:
            if (judgement.at_travel_end) return "the controller's end reaches another value";
            return loading.loaded->act == Act::wrapped ? stated("out-of-range", "wrap")
                                                       : "another range, taper or unit";
        case Outcome::swapped: return "another choice has this number";
        case Outcome::woken: return "the switch reads on";
        case Outcome::unfilled: return "the slot is empty or does not exist";
        case Outcome::revoiced: return "the maker changed this model";
        case Outcome::cut: return "fewer or other characters";
        case Outcome::unsure:
            if (saved.loaded != nullptr && !saved.loaded->known)
                return "the number has no meaning on the saving release";
            if (loading.loaded != nullptr && loading.loaded->act == Act::held)
                return "missing: what the unit held before";
            return "no rule is stated";
        case Outcome::kept: break;
    }
    return {};
}

}  // namespace downfit::compat
