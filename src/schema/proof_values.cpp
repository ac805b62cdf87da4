#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "schema/flaws.h"
#include "schema/ids.h"
#include "schema/reader.h"

namespace downfit::schema {

namespace {

bool near(double a, double b) {
    return std::fabs(a - b) <= 1e-6 * std::max({1.0, std::fabs(a), std::fabs(b)});
}

bool whole(double number) {
    return near(number, std::round(number));
}

std::string range_text(double least, double most) {
    return number_text(least) + " to " + number_text(most);
}

/// The stored number nearest to a value; NaN where none is.
double stored_of(const Meaning& meaning, double value) {
    const double stored = meaning.scale.stored_of(value);
    return std::isfinite(stored) ? std::round(stored) : stored;
}

bool fits(const Reach& reach, const Meaning& meaning, double value) {
    const double stored = stored_of(meaning, value);
    return stored >= reach.least && stored <= reach.most;
}

const double* number_in(const std::optional<Setting>& setting) {
    return setting ? std::get_if<double>(&*setting) : nullptr;
}

/// One meaning of a parameter: the plain one, one that varies, or one of its reads.
struct Told {
    const Parameter& parameter;
    const Meaning& meaning;
    const Storage& storage;
    const Node& node;  ///< where it is written
    const Node& plain_node;
    std::string where;  ///< " (varies, item 2)"; empty for the plain one
    bool read = false;  ///< an older place: a range that is not stated there belongs to the plain one

    [[nodiscard]] bool states(std::string_view key) const { return &node == &plain_node || node.find(key); }
};

class ValueProof {
public:
    ValueProof(const Proofed& at, Flaws& flaws) : at_(at), flaws_(flaws) {}

    void look_at(const Parameter& parameter) {
        const Node* node = at_.parameter(parameter.id);
        layout_ = at_.in_layout(parameter.id);
        if (!node || (at_.whole && layout_.empty())) return;
        look_at({parameter, parameter.plain, parameter.storage, *node, *node, {}, false});
        look_at_each(parameter, *node, "varies", parameter.varies.size());
        look_at_each(parameter, *node, "reads", parameter.reads.size());
        look_at_special_numbers(parameter, *node);
        look_at_count(parameter);
    }

    void look_at(const Group& group) {
        if (at_.whole) return;
        look_at_selector(group, group.selected_by, "selected-by");
        look_at_selector(group, group.start_by, "start-by");
        look_at_selector(group, group.count_by, "count-by");
    }

private:
    void add(Fault fault, TextPlace place, const std::string& id, std::string what, std::string expected,
             std::string mend) {
        Flaw flaw;
        flaw.fault = fault;
        flaw.problem = {std::move(place), std::move(what), std::move(expected), std::move(mend)};
        flaw.about = {id};
        flaws_.add(at_, std::move(flaw));
    }

    void look_at_each(const Parameter& parameter, const Node& node, std::string_view key, std::size_t count) {
        const Node* items = node.find(key);
        for (std::size_t i = 0; items && i < count && i < items->items.size(); ++i) {
            const bool read = key == "reads";
            const std::string where = (read ? " (reads, item " : " (varies, item ") + std::to_string(i + 1) + ")";
            look_at({parameter, read ? parameter.reads[i].meaning : parameter.varies[i].meaning,
                     read ? parameter.reads[i].storage : parameter.storage, *items->items[i], node, where, read});
        }
    }

    void look_at(const Told& told) {
        look_at_choices(told);
        look_at_text(told);
        if (!has_values(told.parameter, told.meaning)) return;
        const auto reach = reach_of(told.storage);
        if (reach) look_at_range(told, *reach);
        if (reach && told.meaning.step && at_.whole) look_at_codes(told, *told.meaning.step);
        if (at_.whole) return;
        look_at_plays(told);
        look_at_setting(told, "default", number_in(told.meaning.preset_default), reach);
        look_at_setting(told, "neutral", number_in(told.meaning.neutral), reach);
        if (told.meaning.step) look_at_step(told, reach);
    }

    /// Only what is said here is told here: what a varied meaning takes from the plain one is told there.
    static bool any_stated(const Told& told, const std::vector<std::string_view>& keys) {
        return std::ranges::any_of(keys, [&](std::string_view key) { return told.states(key); });
    }

    /// In one layout, what it says of storage is to blame, not what holds for all.
    TextPlace place(const Told& told, std::vector<std::string_view> keys) const {
        if (at_.whole) {
            std::erase_if(keys, [](std::string_view key) { return key == "range" || key == "plays" || key == "step"; });
            keys.insert(keys.end(), {"width", "as", "at", "tag"});
        }
        const bool here = std::ranges::any_of(keys, [&](std::string_view key) { return told.node.find(key); });
        return place_of(at_, here ? told.node : told.plain_node, keys);
    }

    void look_at_range(const Told& told, const Reach& reach) {
        const Span span = *values_of(told.storage, told.meaning);
        for (const auto& [key, range] : {std::pair{"range", &told.meaning.range}, {"plays", &told.meaning.plays}}) {
            if (!*range || !any_stated(told, {key, "scale", "as", "width", "at"})) continue;
            if (told.read && !told.states(key)) continue;
            if (fits(reach, told.meaning, (*range)->least) && fits(reach, told.meaning, (*range)->most)) continue;
            add(Fault::range_beyond_place, place(told, {key, "scale", "width", "as"}), told.parameter.id,
                quoted(key) + " " + range_text((*range)->least, (*range)->most) + " of " + told.parameter.id +
                    told.where + layout_ + " goes beyond what its place can hold",
                range_text(span.least, span.most) + ", what its scale makes of the stored numbers " +
                    range_text(reach.least, reach.most),
                "write values, not stored numbers; else mend the scale or the width");
        }
    }

    void look_at_plays(const Told& told) {
        const auto& range = told.meaning.range;
        const auto& plays = told.meaning.plays;
        if (!range || !plays || !any_stated(told, {"range", "plays"})) return;
        if (plays->least <= range->least && plays->most >= range->most) return;
        add(Fault::plays_inside_range, place(told, {"plays", "range"}), told.parameter.id,
            "\"plays\" " + range_text(plays->least, plays->most) + " of " + told.parameter.id + told.where +
                " does not take all of its range " + range_text(range->least, range->most),
            "\"plays\" that holds the whole range",
            "widen \"plays\", or take it away where it says no more than the range");
    }

    void look_at_setting(const Told& told, std::string_view key, const double* value,
                         const std::optional<Reach>& reach) {
        if (!value || !any_stated(told, {key, "range", "plays", "scale"}) || (told.read && !told.states(key))) return;
        const Fault fault = key == "default" ? Fault::default_outside_range : Fault::neutral_outside_range;
        const auto& range = told.meaning.range;
        const bool neutral = key == "neutral";
        const bool inside = !range || in_range(told.meaning, *range, *value) ||
                            (neutral && told.meaning.plays && in_range(told.meaning, *told.meaning.plays, *value));
        if (inside && (range || !reach || fits(*reach, told.meaning, *value))) return;
        const auto span = values_of(told.storage, told.meaning);
        const std::string allowed = range ? range_text(range->least, range->most) : range_text(span->least, span->most);
        const std::string which = range ? std::string("its range ") : std::string("what its place can hold, ");
        add(fault, place(told, {key, "range", "scale"}), told.parameter.id,
            quoted(key) + " " + number_text(*value) + " of " + told.parameter.id + told.where + " lies outside " +
                which + allowed,
            "a value within " + allowed,
            "write the value, not the stored number; if the unit really has it so, say how you know it under "
            "\"true-to-device\"");
    }

    /// As the loader sees it: the stored numbers nearest to the ends are in range.
    static bool in_range(const Meaning& meaning, const Range& range, double value) {
        if (value >= range.least && value <= range.most) return true;
        const double stored = stored_of(meaning, value);
        const double a = stored_of(meaning, range.least), b = stored_of(meaning, range.most);
        return stored >= std::min(a, b) && stored <= std::max(a, b);
    }

    void look_at_step(const Told& told, const std::optional<Reach>& reach) {
        const double step = *told.meaning.step;
        const auto& range = told.meaning.range;
        const TextPlace at = place(told, {"step", "range", "scale"});
        if (!any_stated(told, {"step", "range", "scale", "default", "neutral"}) || step <= 0) return;
        const std::string subject = "\"step\" " + number_text(step) + " of " + told.parameter.id + told.where;
        if (range && !whole((range->most - range->least) / step)) {
            const double last = range->least + std::floor((range->most - range->least) / step) * step;
            add(Fault::step_does_not_divide, at, told.parameter.id,
                subject + " does not divide its range " + range_text(range->least, range->most),
                "a step that leads from " + number_text(range->least) + " to " + number_text(range->most),
                "mend the step, or end the range at " + number_text(last) +
                    ", the last place of the grid; if the unit really stops there, mark it");
        } else if (reach) {
            look_at_codes(told, step);
        }
        if (range) look_at_grid(told, *range, step);
    }

    void look_at_codes(const Told& told, double step) {
        const auto& range = told.meaning.range;
        if (step <= 0 || on_codes(told.meaning, range ? range->least : told.meaning.scale.value_of(0), step)) return;
        add(Fault::step_does_not_divide, place(told, {"step", "range", "scale"}), told.parameter.id,
            "\"step\" " + number_text(step) + " of " + told.parameter.id + told.where + layout_ +
                " is no whole number of stored numbers: the grid falls between them",
            "a multiple of " + number_text(std::fabs(value_distance(told.meaning))) + ", what one stored number is",
            "mend the step or the scale");
    }

    /// What one stored number makes, of scales that are linear throughout; 0 of others.
    static double value_distance(const Meaning& meaning) {
        const bool linear =
            meaning.scale.identity() || (meaning.scale.taper == Taper::linear && meaning.scale.points.size() == 2);
        return linear ? meaning.scale.value_of(1) - meaning.scale.value_of(0) : 0;
    }

    static bool on_codes(const Meaning& meaning, double least, double step) {
        const double distance = std::fabs(value_distance(meaning));
        if (distance == 0) return true;
        return step >= distance * (1 - 1e-6) && whole(step / distance) && whole(meaning.scale.stored_of(least));
    }

    void look_at_grid(const Told& told, const Range& range, double step) {
        const auto look = [&](std::string_view key, const double* value) {
            if (!value || !in_range(told.meaning, range, *value)) return;
            const double steps = (*value - range.least) / step;
            if (whole(steps) || near(*value, range.most) ||
                stored_of(told.meaning, *value) == stored_of(told.meaning, range.least + std::round(steps) * step))
                return;
            const double below = range.least + std::floor(steps) * step;
            add(Fault::setting_off_step, place(told, {key, "step", "range"}), told.parameter.id,
                quoted(key) + " " + number_text(*value) + " of " + told.parameter.id + told.where +
                    " lies between two steps",
                number_text(below) + " or " + number_text(below + step), "mend the value or the step");
        };
        look("default", number_in(told.meaning.preset_default));
        look("neutral", number_in(told.meaning.neutral));
    }

    void look_at_text(const Told& told) {
        if (told.parameter.kind != Kind::text || told.storage.coding != Coding::text) return;
        const auto* text =
            told.meaning.preset_default ? std::get_if<std::string>(&*told.meaning.preset_default) : nullptr;
        if (told.storage.notation != Notation::bytes && told.storage.text_length == 0) return;
        if (!text || text->size() <= told.storage.text_length || !any_stated(told, {"default", "length"})) return;
        add(Fault::default_outside_range, place(told, {"default", "length"}), told.parameter.id,
            "\"default\" of " + told.parameter.id + told.where + layout_ + " has " + std::to_string(text->size()) +
                " bytes",
            "at most " + std::to_string(told.storage.text_length) + ", the length of its place",
            "a shorter text, or the right length");
    }

    void look_at_choices(const Told& told) {
        const auto reach = reach_of(told.storage);
        if (!told.meaning.choices || !reach || !any_stated(told, {"choices", "at", "as", "width", "signed"})) return;
        for (const Choice& choice : told.meaning.choices->choices) {
            const auto number = static_cast<double>(choice.number);
            if (number >= reach->least && number <= reach->most) continue;
            add(Fault::code_beyond_place, place_of_choice(told, choice), told.parameter.id,
                "number " + std::to_string(choice.number) + " (" + quoted(choice.label) + ") of " + told.parameter.id +
                    told.where + layout_ + " does not fit into its place",
                "a number from " + number_text(reach->least) + " to " + number_text(reach->most),
                "mend the number, or give the place more bits");
        }
    }

    TextPlace place_of_choice(const Told& told, const Choice& choice) const {
        const WrittenChoices* written =
            &told.node == &told.plain_node && !at_.whole ? at_.raw.choices_of(told.parameter.id) : nullptr;
        for (std::size_t i = 0; written && i < written->entries.size(); ++i) {
            const WrittenChoice& entry = written->entries[i];
            if (entry.choice.number == choice.number) return entry.place;
        }
        return place(told, {"choices"});
    }

    /// `nothing`, `as-base` and `on`: whether the place can hold them, and whether they mean anything else as well.
    void look_at_special_numbers(const Parameter& parameter, const Node& node) {
        const auto reach = reach_of(parameter.storage);
        if (!reach) return;
        const auto look = [&](std::string_view key, const std::optional<std::int64_t>& number) {
            const double value = number ? static_cast<double>(*number) : reach->least;
            if (value >= reach->least && value <= reach->most) return;
            add(Fault::code_beyond_place, place_of(at_, node, {key, "width", "as"}), parameter.id,
                quoted(key) + " " + std::to_string(*number) + " of " + parameter.id + layout_ +
                    " does not fit into its place",
                "a number from " + number_text(reach->least) + " to " + number_text(reach->most),
                "mend the number, or give the place more bits");
        };
        look("nothing", parameter.nothing);
        look("as-base", parameter.as_base);
        if (parameter.kind == Kind::on_off) look("on", parameter.on);
        if (parameter.as_base) look_at_base(parameter, node, *parameter.as_base);
        if (parameter.nothing) look_at_nothing(parameter, node, *parameter.nothing);
    }

    void two_meanings(const Parameter& parameter, const Node& node, std::string_view key, std::int64_t number,
                      const std::string& other) {
        add(Fault::code_twice, place_of(at_, node, {key}), parameter.id,
            quoted(key) + " " + std::to_string(number) + " of " + parameter.id + layout_ + " is also " + other,
            "a number that means nothing else", "mend the number, the range or the choices");
    }

    void look_at_base(const Parameter& parameter, const Node& node, std::int64_t number) {
        const Meaning& meaning = parameter.plain;
        if (parameter.kind == Kind::on_off) {
            if (number == parameter.on) two_meanings(parameter, node, "as-base", number, "the number for on");
            return;
        }
        if (const Choice* choice = meaning.choices ? meaning.choices->find(number) : nullptr) {
            two_meanings(parameter, node, "as-base", number, "the number of " + quoted(choice->label));
        } else if (meaning.range && has_values(parameter, meaning)) {
            const double a = stored_of(meaning, meaning.range->least), b = stored_of(meaning, meaning.range->most);
            const auto stored = static_cast<double>(number);
            if (stored < std::min(a, b) || stored > std::max(a, b)) return;
            two_meanings(parameter, node, "as-base", number,
                         "the stored number of " + number_text(meaning.scale.value_of(stored)) + ", within its range");
        }
    }

    void look_at_nothing(const Parameter& parameter, const Node& node, std::int64_t number) {
        const AssetKind* asset = at_.release.asset(parameter.refers_to);
        if (!asset || parameter.refers_by != RefersBy::number || parameter.plain.choices) return;
        const double slot = parameter.plain.scale.value_of(static_cast<double>(number));
        if (slot < asset->first || slot >= asset->first + asset->count) return;
        two_meanings(parameter, node, "nothing", number, "slot " + number_text(slot) + " of " + asset->name);
    }

    const Parameter* named(const std::string& reference) const {
        const auto steps = parse_id(reference);
        return steps ? at_.release.find(plain_id(*steps)) : nullptr;
    }

    void too_many(const Parameter& counter, const std::string& things, int count, std::vector<std::string> about) {
        const auto& range = counter.plain.range;
        if (!range || range->most <= count + 1e-9) return;
        const Node* node = at_.parameter(counter.id);
        Flaw flaw;
        flaw.fault = Fault::count_beyond;
        flaw.about = std::move(about);
        flaw.problem = {place_of(at_, *node, {"range"}),
                        "range " + range_text(range->least, range->most) + " of " + counter.id + " goes beyond the " +
                            std::to_string(count) + " " + things,
                        "at most " + std::to_string(count), "mend the range or the count"};
        flaws_.add(at_, std::move(flaw));
    }

    void look_at_selector(const Group& group, const std::string& by, std::string_view key) {
        if (by.empty()) return;
        const Parameter* counter = named(by);
        if (counter)
            too_many(*counter, "instances of " + group.path + ", of which it is " + quoted(key), group.count,
                     {counter->id, group.path});
    }

    void look_at_count(const Parameter& parameter) {
        if (parameter.count_by.empty()) return;
        const Parameter* counter = named(parameter.count_by);
        if (counter)
            too_many(*counter, "values of " + parameter.id + ", of which it is \"count-by\"", parameter.list_count,
                     {counter->id, parameter.id});
    }

    const Proofed& at_;
    Flaws& flaws_;
    std::string layout_;  // in which the parameter at hand stands otherwise
};

}  // namespace

std::optional<Reach> reach_of(const Storage& storage) {
    const unsigned width = storage.coding == Coding::text ? 0 : storage.width();
    const double all = std::exp2(static_cast<double>(width)), half = all / 2;
    switch (storage.coding) {
        case Coding::unsigned_number: return width > 0 ? std::optional(Reach{0, all - 1}) : std::nullopt;
        case Coding::twos_complement:
        case Coding::offset_binary: return width > 0 ? std::optional(Reach{-half, half - 1}) : std::nullopt;
        case Coding::sign_magnitude: return width > 0 ? std::optional(Reach{1 - half, half - 1}) : std::nullopt;
        case Coding::float32:
        case Coding::float64:
        case Coding::text: break;
    }
    return std::nullopt;
}

bool has_values(const Parameter& parameter, const Meaning& meaning) {
    if (meaning.choices) return false;
    if (parameter.kind == Kind::reference) return parameter.refers_by == RefersBy::number;
    return parameter.kind == Kind::whole || parameter.kind == Kind::real || parameter.kind == Kind::opaque;
}

std::optional<Span> values_of(const Storage& storage, const Meaning& meaning) {
    const auto reach = reach_of(storage);
    if (!reach) return std::nullopt;
    const double a = meaning.scale.value_of(reach->least), b = meaning.scale.value_of(reach->most);
    return Span{std::min(a, b), std::max(a, b)};
}

void proof_values(const Proofed& at, Flaws& flaws) {
    ValueProof proof(at, flaws);
    for (const Parameter& parameter : at.release.parameters) proof.look_at(parameter);
    for (const Group& group : at.release.groups) proof.look_at(group);
}

}  // namespace downfit::schema
