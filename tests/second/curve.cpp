#include "second/curve.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

namespace downfit::testing::second {
namespace {

/// One pair of neighbouring points.
struct Stretch {
    double s0, s1, a, b;
};

std::vector<Stretch> stretches_of(const json& scale) {
    const auto stored = scale.at("stored").get<std::vector<double>>();
    const auto value = scale.at("value").get<std::vector<double>>();
    std::vector<Stretch> stretches;
    for (std::size_t i = 0; i + 1 < stored.size(); ++i)
        stretches.push_back({stored[i], stored[i + 1], value[i], value[i + 1]});
    return stretches;
}

double along(const json& scale, const Stretch& on, double stored) {
    const std::string taper = scale.value("taper", "linear");
    if (stored == on.s0) return on.a;
    if (stored == on.s1) return on.b;
    const double x = (stored - on.s0) / (on.s1 - on.s0);
    if (taper == "logarithmic") return on.a * std::pow(on.b / on.a, x);
    const double c = scale.value("curve", 1.0);
    if (taper == "audio") return on.a + (on.b - on.a) * (std::pow(c, x) - 1) / (c - 1);
    if (taper == "power") return on.a + (on.b - on.a) * (x < 0 ? -std::pow(-x, c) : std::pow(x, c));
    return on.a + (on.b - on.a) * x;
}

}  // namespace

double value_by(const json& scale, double stored) {
    if (scale.is_null()) return stored;
    if (scale.value("taper", "linear") == "volume") {
        if (stored <= 0) return -std::numeric_limits<double>::infinity();
        return 40 * std::log10(stored / scale.at("stored")[1].get<double>()) + scale.at("value")[0].get<double>();
    }
    const std::vector<Stretch> stretches = stretches_of(scale);
    Stretch on = stretches.back();
    for (auto it = stretches.rbegin(); it != stretches.rend(); ++it) {
        if (stored <= it->s1) on = *it;
    }
    return along(scale, on, stored);
}

double stored_by(const json& scale, double value) {
    if (scale.is_null()) return value;
    const std::string taper = scale.value("taper", "linear");
    if (taper == "volume") {
        return scale.at("stored")[1].get<double>() * std::pow(10, (value - scale.at("value")[0].get<double>()) / 40);
    }
    const std::vector<Stretch> stretches = stretches_of(scale);
    const bool rising = stretches.front().b > stretches.front().a;
    Stretch on = stretches.back();
    for (auto it = stretches.rbegin(); it != stretches.rend(); ++it) {
        if (rising ? value <= it->b : value >= it->b) on = *it;
    }
    if (value == on.a) return on.s0;
    if (value == on.b) return on.s1;
    // No inverse formula here: the law is followed until it has the value.
    const bool up = on.b > on.a;
    double low = on.s0;
    double high = on.s1;
    const double length = on.s1 - on.s0;
    const auto under = [&](double stored) {
        return up ? along(scale, on, stored) < value : along(scale, on, stored) > value;
    };
    for (int i = 0; i < 40 && !under(low); ++i) low -= length * std::pow(2, i);
    for (int i = 0; i < 40 && under(high); ++i) high += length * std::pow(2, i);
    if (!under(low) || under(high)) return std::numeric_limits<double>::quiet_NaN();
    for (int i = 0; i < 200; ++i) {
        const double middle = low + (high - low) / 2;
        (under(middle) ? low : high) = middle;
    }
    // A half is where rounding turns: it must not depend on the last digit of the search.
    const double half = std::round(high * 2) / 2;
    return std::abs(high - half) < 1e-12 * std::max(1.0, std::abs(high)) ? half : high;
}

}  // namespace downfit::testing::second
