#include "compat/show.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "compat/judge.h"
#include "dump/tree.h"

namespace downfit::compat {
namespace {

std::string_view unit_text(schema::Unit unit) {
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

std::string_view rule_of(const Side& t) {
    return t.kind() == Class::thing ? "unknown-choice" : "out-of-range";
}

std::string stated(std::string_view rule, std::string_view action) {
    return std::string(rule) + ": " + std::string(action);
}

}  // namespace

std::size_t first_byte(const schema::Storage& storage) {
    if (storage.coding == schema::Coding::text) return static_cast<std::size_t>(storage.text_at);
    std::int64_t first = storage.pieces.empty() ? 0 : storage.pieces.front().byte;
    for (const schema::BitPiece& piece : storage.pieces) first = std::min(first, piece.byte);
    return static_cast<std::size_t>(first);
}

std::string stamp_text(const schema::Stamp& stamp) {
    if (const auto* number = std::get_if<std::int64_t>(&stamp)) return std::to_string(*number);
    return std::get<std::string>(stamp);
}

Shown show(const Side& side) {
    const dump::Stored& stored = side.loaded->stored;
    if (stored.kind == dump::Stored::Kind::text || side.kind() == Class::text) {
        const std::string text = dump::to_utf8(stored.text, side.field->field->storage.encoding).text;
        return {text, text};
    }
    Shown shown;
    shown.stored = stored.kind == dump::Stored::Kind::real ? number_text(stored.real) : std::to_string(stored.whole);
    if (const auto& words = side.field->field->storage.words) {
        const auto word = std::ranges::find(*words, stored.whole, &schema::Word::number);
        if (word != words->end()) shown.stored = word->text;
        if (word == words->end() && !stored.text.empty()) shown.stored = stored.text;
    }
    if (side.loaded->act == Act::held) {
        shown.value = "whatever was there before";
    } else if (side.as_base()) {
        shown.value = "as in the preset";
    } else if (side.at_nothing()) {
        shown.value = "nothing";
    } else if (side.kind() == Class::on_off) {
        shown.value = side.loaded->value != 0 ? "On" : "Off";
    } else if (side.kind() == Class::thing) {
        shown.value = side.loaded->choice != nullptr
                          ? side.loaded->choice->label
                          : (side.field->field->storage.words ? "\"" + shown.stored + "\"" : "number " + shown.stored) +
                                " (no such choice)";
    } else {
        shown.value = number_text(side.loaded->value) + std::string(unit_text(side.meaning().meaning->unit));
    }
    return shown;
}

std::string rule_text(const Judgement& judgement, const Side& saved, const Side& loading, const Link& link,
                      const LoadedPreset& saved_preset, const CompiledRelease& saved_release) {
    if (judgement.other_use) return "used for something else there";
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
                                                         : stated(rule_of(loading), "reset");
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
