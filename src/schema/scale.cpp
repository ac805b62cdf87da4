#include "schema/scale.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

namespace downfit::schema {

namespace {

constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

/// x^n for x >= 0; below, its mirror image, so that the law goes on rising.
double mirrored_power(double x, double n) {
    return std::copysign(std::pow(std::abs(x), n), x);
}

double between(const Scale& scale, const ScalePoint& a, const ScalePoint& b, double stored) {
    if (stored == a.stored) return a.value;
    if (stored == b.stored) return b.value;
    const double x = (stored - a.stored) / (b.stored - a.stored);
    switch (scale.taper) {
        case Taper::logarithmic: return a.value * std::pow(b.value / a.value, x);
        case Taper::audio: return a.value + (b.value - a.value) * (std::pow(scale.curve, x) - 1) / (scale.curve - 1);
        case Taper::power: return a.value + (b.value - a.value) * mirrored_power(x, scale.curve);
        case Taper::linear:
        case Taper::volume: break;
    }
    return a.value + (b.value - a.value) * x;
}

double share_of(const Scale& scale, const ScalePoint& a, const ScalePoint& b, double value) {
    const double linear = (value - a.value) / (b.value - a.value);
    switch (scale.taper) {
        case Taper::logarithmic: {
            const double ratio = value / a.value;
            return ratio > 0 ? std::log(ratio) / std::log(b.value / a.value) : not_a_number;
        }
        case Taper::audio: {
            const double power = linear * (scale.curve - 1) + 1;
            return power > 0 ? std::log(power) / std::log(scale.curve) : not_a_number;
        }
        case Taper::power: return mirrored_power(linear, 1 / scale.curve);
        case Taper::linear:
        case Taper::volume: break;
    }
    return linear;
}

/// A half is where rounding turns: it must not hang on the last digit of a sum.
double with_exact_half(double stored) {
    const double half = std::round(stored * 2) / 2;
    return std::abs(stored - half) < 1e-12 * std::max(1.0, std::abs(stored)) ? half : stored;
}

/// The index of the second point of the pair whose law `reached` chooses: the first pair whose end is not yet passed.
template <class Passed>
std::size_t pair_end(const std::vector<ScalePoint>& points, Passed passed) {
    std::size_t end = 1;
    while (end + 1 < points.size() && passed(points[end])) ++end;
    return end;
}

}  // namespace

double Scale::value_of(double stored) const {
    if (points.empty()) return stored;
    if (taper == Taper::volume) {
        if (stored <= 0) return -std::numeric_limits<double>::infinity();
        return 40 * std::log10(stored / points.back().stored) + points.back().value;
    }
    const std::size_t end = pair_end(points, [&](const ScalePoint& point) { return stored > point.stored; });
    return between(*this, points[end - 1], points[end], stored);
}

double Scale::stored_of(double value) const {
    if (points.empty()) return value;
    if (taper == Taper::volume) {
        return with_exact_half(points.back().stored * std::pow(10, (value - points.back().value) / 40));
    }
    const bool rising = points.back().value > points.front().value;
    const std::size_t end =
        pair_end(points, [&](const ScalePoint& point) { return rising ? value > point.value : value < point.value; });
    const ScalePoint& a = points[end - 1];
    const ScalePoint& b = points[end];
    if (value == a.value) return a.stored;
    if (value == b.value) return b.stored;
    return with_exact_half(a.stored + (b.stored - a.stored) * share_of(*this, a, b, value));
}

}  // namespace downfit::schema
