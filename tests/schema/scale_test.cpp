// Scales against published and calculated values.
#include "schema/scale.h"

#include <cmath>
#include <limits>

#include "support/catch.h"

namespace downfit::testing {

namespace {

using schema::Scale;
using schema::Taper;

/// Equal in as many decimals as the check values are printed with.
Approx near(double value, double margin = 0.00006) {
    return Approx(value).epsilon(0).margin(margin);
}

/// Every whole stored number comes back.
void check_inverse(const Scale& scale, int least, int most) {
    for (int stored = least; stored <= most; ++stored) {
        CAPTURE(stored);
        CHECK(scale.stored_of(scale.value_of(stored)) == near(stored, 1e-9));
    }
}

}  // namespace

TEST_CASE("without points the value is the stored number", "[schema]") {
    const Scale scale;
    CHECK(scale.identity());
    CHECK(scale.value_of(7.5) == 7.5);
    CHECK(scale.stored_of(-3) == -3);
}

TEST_CASE("linear scales", "[schema]") {
    const Scale scale{{{0, -60}, {127, 12}}, Taper::linear, 0};
    CHECK(scale.value_of(64) == near(-23.7165));  // a + (b - a) x, calculated
    CHECK(scale.value_of(0) == -60);
    CHECK(scale.value_of(127) == 12);
    CHECK(scale.value_of(254) == near(84));
    CHECK(scale.value_of(-127) == near(-132));
    check_inverse(scale, -50, 300);
}

TEST_CASE("logarithmic scales", "[schema]") {
    // LV2 port-props "logarithmic": lower * pow(upper / lower, step / (steps - 1)).
    const Scale scale{{{0, 20}, {127, 20000}}, Taper::logarithmic, 0};
    CHECK(scale.value_of(63) == near(615.4871));
    CHECK(scale.value_of(64) == near(649.8917));
    CHECK(scale.value_of(127) == 20000);
    CHECK(scale.stored_of(1000) / 127 == near(0.566323, 5e-7));
    check_inverse(scale, -10, 140);

    const Scale shares{{{0, 20}, {4, 20000}}, Taper::logarithmic, 0};
    CHECK(shares.value_of(1) == near(112.4683));  // ladspa.h 1.17, default low, middle and high of a logarithmic port
    CHECK(shares.value_of(2) == near(632.4555));
    CHECK(shares.value_of(3) == near(3556.5588));

    const Scale falling{{{0, -1}, {10, -100}}, Taper::logarithmic, 0};
    CHECK(falling.value_of(5) == near(-10));
    CHECK(falling.stored_of(-10) == near(5));
    CHECK(std::isnan(falling.stored_of(0)));
    CHECK(std::isnan(falling.stored_of(4)));
}

TEST_CASE("audio scales", "[schema]") {
    const Scale tenth{{{0, 0}, {100, 1}}, Taper::audio, 81};
    CHECK(tenth.value_of(50) == near(0.1, 1e-9));  // 10 % at the centre with c = 81, calculated
    const Scale other{{{0, 0}, {100, 1}}, Taper::audio, 32.1111};
    CHECK(other.value_of(50) == near(0.15, 5e-7));
    CHECK(other.value_of(25) == near(0.044372, 5e-7));
    CHECK(std::isnan(tenth.stored_of(-1)));
    check_inverse(other, -20, 120);
}

TEST_CASE("power scales", "[schema]") {
    const Scale square{{{0, 0}, {2, 1}}, Taper::power, 2};
    CHECK(square.value_of(1) == 0.25);
    const Scale cube{{{0, 0}, {2, 1}}, Taper::power, 3};
    CHECK(cube.value_of(1) == 0.125);
    CHECK(square.value_of(-1) == -0.25);  // goes on falling below the points
    check_inverse(square, -4, 6);
}

TEST_CASE("volume scales", "[schema]") {
    // MMA General MIDI Level 1 Developer Guidelines (1998): 40 log10(v / 127).
    const Scale scale{{{0, -std::numeric_limits<double>::infinity()}, {127, 0}}, Taper::volume, 0};
    CHECK(scale.value_of(127) == 0);
    CHECK(scale.value_of(64) == near(-11.90495, 0.000005));  // 40 log10(64 / 127), calculated
    CHECK(scale.value_of(0) == -std::numeric_limits<double>::infinity());
    CHECK(scale.value_of(-1) == -std::numeric_limits<double>::infinity());
    CHECK(scale.stored_of(-std::numeric_limits<double>::infinity()) == 0);
    check_inverse(scale, 1, 130);
}

TEST_CASE("tables", "[schema]") {
    const Scale linear{{{0, 1}, {0.25, 10}, {0.5, 100}}, Taper::linear, 0};
    CHECK(linear.value_of(0.35) == near(46));
    const Scale geometric{{{0, 1}, {0.25, 10}, {0.5, 100}}, Taper::logarithmic, 0};
    CHECK(geometric.value_of(0.35) == near(25.1189));

    const Scale falling{{{0, 100}, {10, 50}, {20, 40}, {40, 0}}, Taper::linear, 0};
    CHECK(falling.value_of(10) == 50);
    CHECK(falling.value_of(15) == 45);
    CHECK(falling.value_of(60) == -40);  // the outermost pair's law goes on
    CHECK(falling.stored_of(-40) == 60);
    check_inverse(falling, -10, 70);
}

TEST_CASE("a stored number that is a half is exactly that", "[schema]") {
    // In doubles -11 - -11.8 is a little more than 0.8: without care the half falls short, and is rounded down.
    const Scale scale{{{2, -12}, {32, -11.8}, {63, -11}}, Taper::linear, 0};
    CHECK(scale.stored_of(23) == 1380.5);
    CHECK(std::round(scale.stored_of(23)) == 1381);
    CHECK(scale.stored_of(-11.9) == 17);
    CHECK(scale.stored_of(-11.9033) != 16.5);
}

}  // namespace downfit::testing
