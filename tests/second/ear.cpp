#include "second/ear.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace downfit::testing::second {
namespace {

constexpr double endless = std::numeric_limits<double>::infinity();

/// The difference counted in just-noticeable ones.
double steps_between(const Physical& a, const Physical& b, const std::string& role, double span) {
    const double apart = std::abs(a.value - b.value);
    if (std::isnan(apart)) return endless;
    const double small = std::min(std::abs(a.value), std::abs(b.value));
    const double large = std::max(std::abs(a.value), std::abs(b.value));
    const bool opposite = small == 0 || std::signbit(a.value) != std::signbit(b.value);
    const double share = opposite ? endless : apart / small;
    const bool both_above_zero = a.value > 0 && b.value > 0;
    const double cents = both_above_zero ? std::abs(1200 * std::log2(a.value / b.value)) : endless;
    if (a.unit == "dB") return apart / 1.0;
    if (a.unit == "cents") return apart / 5.0;
    if (a.unit == "Hz") {
        if (role == "rate" || role == "tempo") return share / 0.03;
        return cents / (role == "pitch" ? 5.0 : 67.0);
    }
    if (a.unit == "s") {
        if (role == "decay") return share / 0.05;
        return large < 0.240 ? apart / 0.006 : apart / (0.025 * large);
    }
    if (a.unit == "bpm") return share / 0.03;
    if (role == "q") return share / 0.20;
    if (role == "level" && a.unit == "share") {
        const double low = std::max(0.0, std::min(a.value, b.value));
        const double high = std::max(0.0, std::max(a.value, b.value));
        if (low == high) return 0;
        return low == 0 ? endless : 20 * std::log10(high / low) / 1.0;
    }
    return span > 0 ? apart / (0.02 * span) : endless;
}

bool reaches_unity(const Physical& amount) {
    return (amount.unit == "dB" && amount.value >= 0) || (amount.unit == "share" && amount.value >= 1);
}

/// How much louder in dB; nothing where the unit is no level's.
std::optional<double> rise_of(const Physical& before, const Physical& after) {
    if (before.unit != after.unit) return std::nullopt;
    if (before.unit == "dB") return before.value == after.value ? 0 : after.value - before.value;
    if (before.unit != "share") return std::nullopt;
    const double from = std::max(0.0, before.value);
    const double to = std::max(0.0, after.value);
    if (from == to) return 0;
    if (from == 0) return endless;
    return to == 0 ? -endless : 20 * std::log10(to / from);
}

}  // namespace

Physical physical(double value, const std::string& unit) {
    if (unit == "kHz") return {value * 1000, "Hz"};
    if (unit == "ms") return {value / 1000, "s"};
    if (unit == "semitones") return {value * 100, "cents"};
    if (unit == "%") return {value / 100, "share"};
    if (unit == "ratio") return {value, "share"};
    return {value, unit};
}

bool is_same(const Physical& a, const Physical& b) {
    // Silence is the same as nothing but silence.
    return a.unit == b.unit &&
           (a.value == b.value ||
            (std::isfinite(a.value) && std::isfinite(b.value) &&
             std::abs(a.value - b.value) <= 1e-9 * std::max({1e-3, std::abs(a.value), std::abs(b.value)})));
}

Heard hear(const Physical& before, const Physical& after, const std::string& role, double span) {
    Heard heard;
    if (before.unit != after.unit) {
        heard.weight = audible;
    } else if (!is_same(before, after)) {
        const double steps = steps_between(before, after, role, span);
        heard.weight = steps <= 1 + 1e-9 ? none : steps <= 3 + 1e-9 ? slight : audible;
    }
    if (role == "level") {
        const auto rise = rise_of(before, after);
        if (!rise) heard.caution = "level unknown";
        if (rise && *rise >= 6) {
            heard.weight = severe;
            heard.caution = "louder";
        }
    }
    if (role == "feedback" && reaches_unity(after) && !reaches_unity(before)) {
        heard.weight = severe;
        heard.caution = "feedback";
    }
    return heard;
}

}  // namespace downfit::testing::second
