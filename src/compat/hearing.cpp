#include "compat/hearing.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace downfit::compat {
namespace {

using schema::Role;
using schema::Unit;

constexpr double infinite = std::numeric_limits<double>::infinity();

// These are asked only for amounts that are not the same.

double cents_between(double a, double b) {
    if (a <= 0 || b <= 0) return infinite;
    return std::abs(1200.0 * std::log2(b / a));
}

/// |a - b| as a share of the smaller; infinite against zero or across signs.
double share_between(double a, double b) {
    const double smaller = std::min(std::abs(a), std::abs(b));
    if (std::signbit(a) != std::signbit(b)) return infinite;
    return std::abs(a - b) / smaller;
}

double time_steps(double a, double b, const Hearing& hearing) {
    const double longer = std::max(std::abs(a), std::abs(b));
    const double jnd = longer < hearing.time_knee_s ? hearing.time_floor_s : longer * hearing.time_share;
    return std::abs(a - b) / jnd;
}

double steps_of_range(double a, double b, double span, const Hearing& hearing) {
    return std::abs(a - b) / (span * hearing.range_share);
}

}  // namespace

Amount amount_of(double value, Unit unit) {
    switch (unit) {
        case Unit::db: return {value, BaseUnit::db};
        case Unit::hz: return {value, BaseUnit::hz};
        case Unit::khz: return {value * 1000.0, BaseUnit::hz};
        case Unit::ms: return {value / 1000.0, BaseUnit::seconds};
        case Unit::s: return {value, BaseUnit::seconds};
        case Unit::cents: return {value, BaseUnit::cents};
        case Unit::semitones: return {value * 100.0, BaseUnit::cents};
        case Unit::bpm: return {value, BaseUnit::bpm};
        case Unit::percent: return {value / 100.0, BaseUnit::share};
        case Unit::ratio: return {value, BaseUnit::share};
        case Unit::degrees: return {value, BaseUnit::degrees};
        case Unit::none: break;
    }
    return {value, BaseUnit::plain};
}

bool same_amount(const Amount& a, const Amount& b) {
    if (a.unit != b.unit) return false;
    if (a.value == b.value) return true;
    // Silence in dB is infinitely low: near nothing but itself.
    const double difference = std::abs(a.value - b.value);
    return std::isfinite(difference) && difference <= 1e-9 * std::max({1e-3, std::abs(a.value), std::abs(b.value)});
}

std::optional<double> noticeable_steps(const Amount& a, const Amount& b, Role role, double range_span,
                                       const Hearing& hearing) {
    if (a.unit != b.unit) return std::nullopt;
    if (same_amount(a, b)) return 0.0;
    const double difference = std::abs(a.value - b.value);
    if (std::isnan(difference)) return infinite;
    switch (a.unit) {
        case BaseUnit::db: return difference / hearing.level_db;
        case BaseUnit::cents: return difference / hearing.pitch_cents;
        case BaseUnit::hz:
            if (role == Role::rate || role == Role::tempo) return share_between(a.value, b.value) / hearing.rate_share;
            if (role == Role::pitch) return cents_between(a.value, b.value) / hearing.pitch_cents;
            return cents_between(a.value, b.value) / hearing.frequency_cents;
        case BaseUnit::seconds:
            if (role == Role::decay) return share_between(a.value, b.value) / hearing.decay_share;
            return time_steps(a.value, b.value, hearing);
        case BaseUnit::bpm: return share_between(a.value, b.value) / hearing.rate_share;
        case BaseUnit::share:
        case BaseUnit::degrees:
        case BaseUnit::plain: break;
    }
    if (role == Role::q) return share_between(a.value, b.value) / hearing.q_share;
    if (role == Role::level && a.unit == BaseUnit::share) {
        return std::abs(level_rise_db(a, b).value_or(infinite)) / hearing.level_db;
    }
    return steps_of_range(a.value, b.value, range_span, hearing);
}

Weight weight_of_steps(double steps, const Hearing& hearing) {
    // The tiny allowance keeps a difference of exactly one step on the inaudible side of the arithmetic.
    if (steps <= 1.0 + 1e-9) return Weight::none;
    if (steps <= hearing.slight_up_to + 1e-9) return Weight::slight;
    return Weight::audible;
}

std::optional<double> level_rise_db(const Amount& before, const Amount& after) {
    if (before.unit != after.unit) return std::nullopt;
    if (before.unit == BaseUnit::db) {
        if (before.value == after.value) return 0.0;
        return after.value - before.value;
    }
    if (before.unit != BaseUnit::share) return std::nullopt;
    const double from = std::max(before.value, 0.0);
    const double to = std::max(after.value, 0.0);
    if (from == to) return 0.0;
    return 20.0 * std::log10(to / from);
}

bool reaches_unity(const Amount& amount) {
    if (amount.unit == BaseUnit::db) return amount.value >= 0;
    if (amount.unit == BaseUnit::share) return amount.value >= 1.0;
    return false;
}

}  // namespace downfit::compat
