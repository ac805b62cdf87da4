#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "compat/hearing.h"
#include "dump/fields.h"
#include "dump/value_text.h"
#include "schema/words.h"
#include "study/comparing.h"

namespace downfit::study {

namespace {

using schema::Range;
using schema::Unit;

bool same(double a, Unit a_unit, double b, Unit b_unit) {
    if (std::isinf(a) || std::isinf(b)) return a == b;
    return compat::same_amount(compat::amount_of(a, a_unit), compat::amount_of(b, b_unit));
}

bool same(const std::optional<Range>& a, Unit a_unit, const std::optional<Range>& b, Unit b_unit) {
    if (!a || !b) return a.has_value() == b.has_value();
    return same(a->least, a_unit, b->least, b_unit) && same(a->most, a_unit, b->most, b_unit);
}

/// Stored numbers at which two scales are compared: the ends and points of both, and between them.
std::vector<double> probes(const Parameter& older, const Meaning& before, const Parameter& newer,
                           const Meaning& after) {
    std::vector<double> stored;
    for (const auto* meaning : {&before, &after}) {
        for (const schema::ScalePoint& point : meaning->scale.points) stored.push_back(point.stored);
    }
    for (const auto& [parameter, meaning] : {std::pair{&older, &before}, {&newer, &after}}) {
        if (meaning->range) {
            stored.push_back(meaning->scale.stored_of(meaning->range->least));
            stored.push_back(meaning->scale.stored_of(meaning->range->most));
        } else if (meaning->scale.identity()) {
            stored.push_back(static_cast<double>(dump::least_stored(parameter->storage)));
            stored.push_back(static_cast<double>(dump::most_stored(parameter->storage)));
        }
    }
    std::erase_if(stored, [](double number) { return !std::isfinite(number); });
    std::sort(stored.begin(), stored.end());
    const std::size_t ends = stored.size();
    for (std::size_t i = 1; i < ends; ++i) stored.push_back((stored[i - 1] + stored[i]) / 2);
    return stored;
}

std::string scale_words(const Meaning& meaning) {
    const schema::Scale& scale = meaning.scale;
    const std::string unit(dump::unit_suffix(meaning.unit));
    if (scale.identity()) return "the stored number" + (unit.empty() ? unit : " in" + unit);
    std::string text = std::string(schema::taper_words[static_cast<std::size_t>(scale.taper)]) + ", stored " +
                       number_text(scale.points.front().stored) + ".." + number_text(scale.points.back().stored) +
                       " is " + number_text(scale.points.front().value) + ".." +
                       number_text(scale.points.back().value) + unit;
    if (scale.points.size() > 2) text += " in " + std::to_string(scale.points.size()) + " points";
    if (scale.curve != 0) text += ", curve " + number_text(scale.curve);
    return text;
}

/// A setting that is equal on two releases where it means the same.
std::string setting_key(const std::optional<schema::Setting>& setting, const Meaning& meaning) {
    if (!setting) return {};
    if (const auto* number = std::get_if<double>(&*setting)) {
        const schema::Choice* choice =
            meaning.choices ? meaning.choices->find(static_cast<std::int64_t>(*number)) : nullptr;
        if (choice) return "choice " + choice->meaning;
        const compat::Amount amount = compat::amount_of(*number, meaning.unit);
        return "number " + number_text(amount.value) + ' ' + std::to_string(static_cast<int>(amount.unit));
    }
    const std::string& text = std::get<std::string>(*setting);
    const schema::Choice* choice = meaning.choices ? meaning.choices->find(std::string_view(text)) : nullptr;
    return choice ? "choice " + choice->meaning : "text " + text;
}

/// Compares one meaning on both releases.
class Meanings {
public:
    Meanings(Comparing& comparing, const Parameter& older, const Meaning& before, const Parameter& newer,
             const Meaning& after, std::string where)
        : comparing_(comparing),
          older_(older),
          newer_(newer),
          before_(before),
          after_(after),
          where_(std::move(where)) {}

    void compare() {
        const bool numbers = has_values(older_, before_) && has_values(newer_, after_);
        if (numbers) {
            compare_scale();
            compare_range();
            compare_step();
        }
        compare_settings();
        if (before_.role != after_.role) {
            Change* change = put(ChangeKind::role, role_words(before_), role_words(after_));
            if (change) change->back.words = change->forward.words = "decides how a difference is heard";
        }
    }

private:
    /// Whether a parameter's value is a number: scale, range and step then mean something.
    [[nodiscard]] static bool has_values(const Parameter& parameter, const Meaning& meaning) {
        using schema::Kind;
        const bool number = parameter.kind == Kind::whole || parameter.kind == Kind::real ||
                            parameter.kind == Kind::opaque || parameter.kind == Kind::reference;
        return number && !meaning.choices;
    }

    Change* put(ChangeKind kind, std::string before, std::string after) {
        // What the plain meaning says already is not said again of one that varies.
        const bool told = !where_.empty() &&
                          std::any_of(comparing_.changes.begin(), comparing_.changes.end(), [&](const Change& change) {
                              return change.kind == kind && change.subject == newer_.id && change.before == before &&
                                     change.after == after && change.where.empty();
                          });
        if (told) return nullptr;
        Change& change = comparing_.add(kind, where_, older_, newer_, std::move(before), std::move(after));
        change.where = where_;
        return &change;
    }

    [[nodiscard]] static std::string role_words(const Meaning& meaning) {
        if (meaning.role == schema::Role::none) return "none";
        return std::string(schema::role_words[static_cast<std::size_t>(meaning.role) - 1]);
    }

    /// Whether a release that loads takes the older coding from an older place of its own.
    [[nodiscard]] bool converts(const Parameter& saved, const Meaning& meant, const Parameter& loading) const {
        return std::any_of(loading.reads.begin(), loading.reads.end(), [&](const schema::Read& read) {
            return read.storage == saved.storage && same_law(saved, meant, loading, read.meaning);
        });
    }

    [[nodiscard]] static bool same_law(const Parameter& a, const Meaning& a_meaning, const Parameter& b,
                                       const Meaning& b_meaning) {
        const std::vector<double> stored = probes(a, a_meaning, b, b_meaning);
        return std::all_of(stored.begin(), stored.end(), [&](double number) {
            return same(a_meaning.scale.value_of(number), a_meaning.unit, b_meaning.scale.value_of(number),
                        b_meaning.unit);
        });
    }

    void compare_scale() {
        if (same_law(older_, before_, newer_, after_)) {
            if (before_.unit == after_.unit) return;
            Change* change = put(ChangeKind::unit, unit_words(before_), unit_words(after_));
            if (change) change->back.words = change->forward.words = "shown otherwise; the same amounts";
            return;
        }
        Change* change = put(ChangeKind::scale, scale_words(before_), scale_words(after_));
        if (!change) return;
        const std::string words = "the same stored number is another amount";
        change->back = {Effect::rescaled, words};
        change->forward = {Effect::rescaled, words};
        if (converts(older_, before_, newer_)) change->forward = {Effect::nothing, "converted from the older place"};
        if (converts(newer_, after_, older_)) change->back = {Effect::nothing, "converted from the older place"};
    }

    [[nodiscard]] static std::string unit_words(const Meaning& meaning) {
        const std::string_view unit = dump::unit_suffix(meaning.unit);
        return unit.empty() ? "none" : std::string(unit.substr(1));
    }

    [[nodiscard]] static std::string words_of(const std::optional<Range>& range, const Meaning& meaning,
                                              const Parameter& parameter, bool plays) {
        if (range) return range_words(*range, meaning.unit);
        if (plays) return "the range";
        const double a = meaning.scale.value_of(static_cast<double>(dump::least_stored(parameter.storage)));
        const double b = meaning.scale.value_of(static_cast<double>(dump::most_stored(parameter.storage)));
        const bool whole = parameter.storage.coding != schema::Coding::float32 &&
                           parameter.storage.coding != schema::Coding::float64 &&
                           parameter.storage.coding != schema::Coding::text;
        return whole ? range_words({std::min(a, b), std::max(a, b)}, meaning.unit) + ", all that is stored"
                     : "not stated";
    }

    void compare_range() {
        if (!same(before_.range, before_.unit, after_.range, after_.unit)) {
            Change* change = put(ChangeKind::range, words_of(before_.range, before_, older_, false),
                                 words_of(after_.range, after_, newer_, false));
            if (change) {
                change->forward = range_way(before_, comparing_.newer, newer_, after_);
                change->back = range_way(after_, comparing_.older, older_, before_);
                change->forward_ends = nearer_ends(before_, after_);
                change->back_ends = nearer_ends(after_, before_);
            }
        }
        if (!same(before_.plays, before_.unit, after_.plays, after_.unit)) {
            Change* change = put(ChangeKind::plays, words_of(before_.plays, before_, older_, true),
                                 words_of(after_.plays, after_, newer_, true));
            if (change) {
                change->forward = plays_way(before_, comparing_.newer, newer_, after_);
                change->back = plays_way(after_, comparing_.older, older_, before_);
            }
        }
    }

    /// Whether all of `inner` lies within `outer`.
    [[nodiscard]] static bool within(const Range& inner, Unit inner_unit, const Range& outer, Unit outer_unit) {
        const auto at_most = [](double a, Unit a_unit, double b, Unit b_unit) {
            return same(a, a_unit, b, b_unit) ||
                   compat::amount_of(a, a_unit).value < compat::amount_of(b, b_unit).value;
        };
        return at_most(outer.least, outer_unit, inner.least, inner_unit) &&
               at_most(inner.most, inner_unit, outer.most, outer_unit);
    }

    [[nodiscard]] static Ends nearer_ends(const Meaning& saved, const Meaning& loading) {
        if (!saved.range || !loading.range) return {};
        const auto below = [&](double a, Unit a_unit, double b, Unit b_unit) {
            return !same(a, a_unit, b, b_unit) &&
                   compat::amount_of(a, a_unit).value < compat::amount_of(b, b_unit).value;
        };
        return {below(saved.range->least, saved.unit, loading.range->least, loading.unit),
                below(loading.range->most, loading.unit, saved.range->most, saved.unit)};
    }

    [[nodiscard]] static Way range_way(const Meaning& saved, const Release& release, const Parameter& parameter,
                                       const Meaning& loading) {
        if (!loading.range) return {Effect::nothing, "no longer limited"};
        const std::string narrowed = "narrowed to " + range_words(*loading.range, loading.unit);
        if (saved.range && within(*saved.range, saved.unit, *loading.range, loading.unit)) {
            const std::string widened = "widened to " + range_words(*loading.range, loading.unit);
            if (!may_be_controlled(release, parameter)) return {Effect::nothing, widened};
            return {Effect::rescaled, widened + "; a pedal or controller that moves it reaches further"};
        }
        const bool kept = rule_of(release, &parameter, schema::Rule::out_of_range) == schema::Action::keep;
        if (kept && saved.range && loading.plays && within(*saved.range, saved.unit, *loading.plays, loading.unit))
            return {Effect::nothing, narrowed + "; what lies beyond is kept and played"};
        Way way = beyond_range(release, parameter, "what lies beyond");
        way.words = narrowed + "; " + way.words;
        return way;
    }

    [[nodiscard]] static Way plays_way(const Meaning& saved, const Release& release, const Parameter& parameter,
                                       const Meaning& loading) {
        const auto saved_plays = saved.plays ? saved.plays : saved.range;
        const auto plays = loading.plays ? loading.plays : loading.range;
        const bool kept = rule_of(release, &parameter, schema::Rule::out_of_range) == schema::Action::keep;
        if (!kept || !plays || !saved_plays || within(*saved_plays, saved.unit, *plays, loading.unit))
            return {Effect::nothing, "nothing more is cut off"};
        return {Effect::out_of_range, "plays no more than " + range_words(*plays, loading.unit)};
    }

    void compare_step() {
        const bool equal = before_.step && after_.step ? same(*before_.step, before_.unit, *after_.step, after_.unit)
                                                       : before_.step.has_value() == after_.step.has_value();
        if (equal) return;
        const auto words = [](const Meaning& meaning) {
            if (!meaning.step) return std::string("every stored number");
            return number_text(*meaning.step) + std::string(dump::unit_suffix(meaning.unit));
        };
        Change* change = put(ChangeKind::step, words(before_), words(after_));
        if (!change) return;
        change->forward = step_way(before_, comparing_.newer, newer_, after_);
        change->back = step_way(after_, comparing_.older, older_, before_);
    }

    [[nodiscard]] static Way step_way(const Meaning& saved, const Release& release, const Parameter& parameter,
                                      const Meaning& loading) {
        if (!loading.step) return {Effect::nothing, "every stored number is taken"};
        const double step = compat::amount_of(*loading.step, loading.unit).value;
        if (saved.step) {
            const double steps = compat::amount_of(*saved.step, saved.unit).value / step;
            if (std::fabs(steps - std::round(steps)) < 1e-6 && steps >= 1) return {Effect::nothing, "a finer grid"};
        }
        const auto action = rule_of(release, &parameter, schema::Rule::off_step);
        if (!action) return {Effect::unsure, "between two steps: nobody states what becomes of it (off-step)"};
        if (*action == schema::Action::round) return {Effect::rounded, "between two steps: rounded"};
        return {Effect::nothing, "between two steps: kept"};
    }

    void compare_settings() {
        if (setting_key(before_.preset_default, before_) != setting_key(after_.preset_default, after_)) {
            Change* change = put(ChangeKind::default_value, setting_words(before_.preset_default, before_, older_),
                                 setting_words(after_.preset_default, after_, newer_));
            if (change) change->back = change->forward = default_way();
        }
        if (setting_key(before_.neutral, before_) != setting_key(after_.neutral, after_)) {
            Change* change = put(ChangeKind::neutral, setting_words(before_.neutral, before_, older_),
                                 setting_words(after_.neutral, after_, newer_));
            if (change) change->back.words = change->forward.words = "decides where losing it makes no difference";
        }
    }

    /// Only what a preset may leave out takes the default.
    [[nodiscard]] Way default_way() const {
        if (may_be_omitted(comparing_.newer, newer_) && may_be_omitted(comparing_.older, older_))
            return {Effect::reset, "presets that leave it out get the other default"};
        return {Effect::nothing, "only new presets have it"};
    }

    [[nodiscard]] static bool may_be_omitted(const Release& release, const Parameter& parameter) {
        if (parameter.tag) return true;
        for (int group = parameter.group; group >= 0;) {
            const Group& around = release.groups[static_cast<std::size_t>(group)];
            if (around.tag) return true;
            group = around.parent;
        }
        return false;
    }

    Comparing& comparing_;
    const Parameter& older_;
    const Parameter& newer_;
    const Meaning& before_;
    const Meaning& after_;
    std::string where_;
};

}  // namespace

void compare_meanings(Comparing& comparing, const Parameter& older, const Meaning& before, const Parameter& newer,
                      const Meaning& after, const std::string& where) {
    Meanings(comparing, older, before, newer, after, where).compare();
}

}  // namespace downfit::study
