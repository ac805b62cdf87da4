// Just-noticeable differences, levels and amounts, against published values.
#include "compat/hearing.h"

#include <cmath>
#include <limits>

#include "support/catch.h"

using namespace downfit::compat;
using downfit::schema::Role;
using downfit::schema::Unit;

namespace {

double steps(double a, double b, Unit unit, Role role, double span = 0) {
    const Hearing hearing;
    return noticeable_steps(amount_of(a, unit), amount_of(b, unit), role, span, hearing).value();
}

Weight weigh(double a, double b, Unit unit, Role role, double span = 0) {
    return weight_of_steps(steps(a, b, unit, role, span), Hearing{});
}

}  // namespace

TEST_CASE("the level threshold lies within the published just-noticeable differences") {
    // Jesteadt, Wier & Green, JASA 61 (1977), from memory: dI/I = 0.463 (I/I0)^-0.072; 10 dB above threshold 1.44 dB,
    // 80 dB 0.50 dB.
    struct Row {
        double above_threshold_db, jnd_db;
    };
    const Row rows[] = {{10, 1.44}, {20, 1.25}, {40, 0.93}, {60, 0.69}, {80, 0.50}};
    for (const Row& row : rows) {
        const double law =
            10.0 * std::log10(1.0 + 0.463 * std::pow(std::pow(10.0, row.above_threshold_db / 10.0), -0.072));
        CHECK(law == Approx(row.jnd_db).margin(0.02));
    }
    const Hearing hearing;
    CHECK(hearing.level_db >= 0.50);
    CHECK(hearing.level_db <= 1.44);
    CHECK(weigh(0, 1.0, Unit::db, Role::level) == Weight::none);
    CHECK(weigh(0, 1.1, Unit::db, Role::level) == Weight::slight);
    CHECK(weigh(0, -3.0, Unit::db, Role::level) == Weight::slight);
    CHECK(weigh(0, -3.1, Unit::db, Role::level) == Weight::audible);
}

TEST_CASE("the pitch threshold lies within the published just-noticeable differences") {
    // Wier, Jesteadt & Green, JASA 61, 178 (1977), from memory: log10 df = 0.026 sqrt(f) - 0.533.
    struct Row {
        double hz, cents;
    };
    const Row rows[] = {{200, 5.9}, {400, 4.2}, {1000, 3.4}, {2000, 3.7}, {4000, 5.6}};
    double least = 100, most = 0;
    for (const Row& row : rows) {
        const double df = std::pow(10.0, 0.026 * std::sqrt(row.hz) - 0.533);
        const double cents = 1200.0 * std::log2((row.hz + df) / row.hz);
        CHECK(cents == Approx(row.cents).margin(0.1));
        least = std::min(least, cents);
        most = std::max(most, cents);
    }
    const Hearing hearing;
    CHECK(hearing.pitch_cents >= least);
    CHECK(hearing.pitch_cents <= most);
    CHECK(steps(0.07, 0.0, Unit::semitones, Role::pitch) == Approx(1.4));
}

TEST_CASE("the frequency threshold is that of a resonance at Q 4") {
    // Resonance-frequency discrimination, dF/F = 0.079 / sqrt(Q) (Gagne & Zurek, JASA 83, 1988, from memory): Q 4 67
    // cents.
    const double cents = 1200.0 * std::log2(1.0 + 0.079 / std::sqrt(4.0));
    CHECK(cents == Approx(67.0).margin(0.5));
    CHECK(Hearing{}.frequency_cents == Approx(cents).margin(0.5));
    CHECK(steps(1000, 2000, Unit::hz, Role::frequency) == Approx(1200.0 / 67.0));
    CHECK(steps(1.0, 2.0, Unit::khz, Role::frequency) == Approx(1200.0 / 67.0));
}

TEST_CASE("times follow the published shift in a steady pulse") {
    // Friberg & Sundberg (1995), abstract: 6 ms below 240 ms, 2.5 % above (500 ms: 12.5 ms).
    CHECK(weigh(100, 106, Unit::ms, Role::time) == Weight::none);
    CHECK(weigh(100, 106.5, Unit::ms, Role::time) == Weight::slight);
    CHECK(steps(500, 487.5, Unit::ms, Role::time) == Approx(1.0));
    CHECK(weigh(0.5, 500, Unit::s, Role::time) == Weight::audible);
    // At the knee itself the share counts already, where somebody set both so that they do not meet.
    Hearing set;
    set.time_knee_s = 1.0;
    set.time_floor_s = 0.1;
    set.time_share = 0.5;
    const auto set_steps = [&](double a, double b) {
        return noticeable_steps(amount_of(a, Unit::s), amount_of(b, Unit::s), Role::time, 0, set).value();
    };
    CHECK(set_steps(0.5, 0.75) == Approx(2.5));
    CHECK(set_steps(0.5, 1.0) == Approx(1.0));
    CHECK(set_steps(1.0, 0.5) == Approx(1.0));
}

TEST_CASE("reverberation time and rates") {
    // ISO 3382-1:2009 table A.1, from memory: EDT 5 %. Drake & Botte (1993), abstract: 3 % for six intervals.
    CHECK(steps(2.0, 2.1, Unit::s, Role::decay) == Approx(1.0));
    CHECK(steps(100, 103, Unit::bpm, Role::tempo) == Approx(1.0));
    CHECK(steps(1.0, 1.03, Unit::hz, Role::rate) == Approx(1.0));
}

TEST_CASE("units are compared as physical amounts") {
    CHECK(same_amount(amount_of(1500, Unit::ms), amount_of(1.5, Unit::s)));
    CHECK(same_amount(amount_of(2, Unit::semitones), amount_of(200, Unit::cents)));
    CHECK(same_amount(amount_of(50, Unit::percent), amount_of(0.5, Unit::ratio)));
    CHECK_FALSE(same_amount(amount_of(1, Unit::db), amount_of(1, Unit::ratio)));
    CHECK_FALSE(
        noticeable_steps(amount_of(1, Unit::db), amount_of(1, Unit::hz), Role::level, 0, Hearing{}).has_value());
    CHECK(std::isinf(steps(0, 100, Unit::hz, Role::frequency)));
    CHECK(steps(0, 0, Unit::hz, Role::frequency) == 0);
}

TEST_CASE("amounts are the same up to a billionth, near zero of a thousandth; infinite ones only as they are") {
    const double infinite = std::numeric_limits<double>::infinity();
    const auto same = [](double a, double b) { return same_amount(amount_of(a, Unit::db), amount_of(b, Unit::db)); };
    const double edge = 1e-9 * 1e-3;
    CHECK(same(0, edge));
    CHECK(same(-edge / 2, edge / 2));
    CHECK_FALSE(same(0, 1.1 * edge));
    CHECK(same(1000, 1000 + 0.9e-6));
    CHECK_FALSE(same(1000, 1000 + 1.1e-6));
    CHECK_FALSE(same(-1000, -1000 - 1.1e-6));
    CHECK_FALSE(same(1000, -1000));
    CHECK(same(-infinite, -infinite));
    CHECK_FALSE(same(-infinite, infinite));
    CHECK_FALSE(same(-infinite, -60));
    CHECK_FALSE(same(-60, -infinite));
    CHECK_FALSE(same(std::nan(""), std::nan("")));
}

TEST_CASE("against zero, across signs and beyond numbers there are infinitely many steps") {
    CHECK(std::isinf(steps(100, 0, Unit::hz, Role::frequency)));
    CHECK(std::isinf(steps(-1, 100, Unit::hz, Role::frequency)));
    CHECK(std::isinf(steps(100, -1, Unit::hz, Role::frequency)));
    CHECK(std::isinf(steps(-1, -2, Unit::hz, Role::frequency)));
    CHECK(std::isinf(steps(-0.0, 100, Unit::hz, Role::pitch)));
    CHECK(std::isinf(steps(100, -0.0, Unit::hz, Role::pitch)));
    CHECK(steps(0.5, 1, Unit::hz, Role::pitch) == Approx(240));
    CHECK(steps(1, 0.5, Unit::hz, Role::pitch) == Approx(240));
    CHECK(std::isinf(steps(0, 1, Unit::bpm, Role::tempo)));
    CHECK(std::isinf(steps(1, 0, Unit::bpm, Role::tempo)));
    CHECK(std::isinf(steps(-1, 1.03, Unit::hz, Role::rate)));
    CHECK(std::isinf(steps(1.03, -1, Unit::hz, Role::rate)));
    CHECK(steps(-1, -1.03, Unit::hz, Role::rate) == Approx(1.0));
    CHECK(std::isinf(steps(std::nan(""), 1, Unit::db, Role::level)));
    CHECK(std::isinf(steps(1, std::nan(""), Unit::none, Role::tone, 10)));
    CHECK(std::isinf(steps(1, 2, Unit::none, Role::tone, 0)));
    CHECK(std::isinf(steps(-std::numeric_limits<double>::infinity(), -60, Unit::db, Role::level)));
}

TEST_CASE("a difference of a billionth above a whole number of steps is arithmetic") {
    CHECK(weight_of_steps(1.0 + 1e-9, Hearing{}) == Weight::none);
    CHECK(weight_of_steps(1.0 + 2e-9, Hearing{}) == Weight::slight);
    CHECK(weight_of_steps(3.0 + 1e-9, Hearing{}) == Weight::slight);
    CHECK(weight_of_steps(3.0 + 2e-9, Hearing{}) == Weight::audible);
}

TEST_CASE("anything else counts by its share of the range") {
    CHECK(weigh(5.0, 5.2, Unit::none, Role::tone, 10) == Weight::none);
    CHECK(weigh(5.0, 5.5, Unit::none, Role::tone, 10) == Weight::slight);
    CHECK(weigh(5.0, 5.7, Unit::none, Role::tone, 10) == Weight::audible);
    CHECK(weigh(5.0, 5.1, Unit::none, Role::tone, 0) == Weight::audible);
}

TEST_CASE("levels as ratios") {
    // Amplitude ratios, from memory: 2 is 6.0206 dB, sqrt 2 is 3.0103 dB, -6 dB is 0.501187, -3 dB 0.707946.
    const auto rise = [](double a, double b) {
        return level_rise_db(amount_of(a, Unit::ratio), amount_of(b, Unit::ratio)).value();
    };
    CHECK(rise(1, 2) == Approx(6.0206).epsilon(1e-5));
    CHECK(rise(1, std::sqrt(2.0)) == Approx(3.0103).epsilon(1e-5));
    CHECK(rise(1, 0.501187) == Approx(-6.0).epsilon(1e-5));
    CHECK(rise(0.707946, 1) == Approx(3.0).epsilon(1e-5));
    const double infinite = std::numeric_limits<double>::infinity();
    CHECK(rise(0, 1) == infinite);
    CHECK(rise(1, 0) == -infinite);
    CHECK(rise(0, 0) == 0);
    CHECK(rise(-1, 0) == 0);
    CHECK(rise(0, -1) == 0);
    CHECK(rise(0.5, 0.5) == 0);
    CHECK(level_rise_db(amount_of(-infinite, Unit::db), amount_of(-infinite, Unit::db)).value() == 0);
    CHECK(level_rise_db(amount_of(-infinite, Unit::db), amount_of(-60, Unit::db)).value() == infinite);
    CHECK(level_rise_db(amount_of(2, Unit::db), amount_of(2, Unit::db)).value() == 0);
    CHECK_FALSE(level_rise_db(amount_of(1, Unit::db), amount_of(1, Unit::ratio)).has_value());
    CHECK_FALSE(level_rise_db(amount_of(1, Unit::ratio), amount_of(1, Unit::db)).has_value());
    CHECK(level_rise_db(amount_of(-6, Unit::db), amount_of(0, Unit::db)).value() == Approx(6));
    CHECK_FALSE(level_rise_db(amount_of(1, Unit::none), amount_of(2, Unit::none)).has_value());
}

TEST_CASE("unity of feedback") {
    CHECK(reaches_unity(amount_of(100, Unit::percent)));
    CHECK_FALSE(reaches_unity(amount_of(99, Unit::percent)));
    CHECK(reaches_unity(amount_of(0, Unit::db)));
    CHECK_FALSE(reaches_unity(amount_of(-0.1, Unit::db)));
    CHECK_FALSE(reaches_unity(amount_of(100, Unit::none)));
}

TEST_CASE("amounts keep what they are measured in, and the thresholds are those that are documented") {
    CHECK(amount_of(90, Unit::degrees).unit == BaseUnit::degrees);
    CHECK(amount_of(90, Unit::none).unit == BaseUnit::plain);
    CHECK(amount_of(440, Unit::hz).value == 440);
    CHECK(amount_of(440, Unit::hz).unit == BaseUnit::hz);
    CHECK(amount_of(0.44, Unit::khz).value == Approx(440));
    CHECK_FALSE(same_amount(amount_of(90, Unit::degrees), amount_of(90, Unit::none)));
    CHECK(Hearing{}.louder_db == 6.0);
    CHECK(steps(1.0, 1.2, Unit::none, Role::q) == Approx(1.0));
    CHECK(level_rise_db(amount_of(0, Unit::db), amount_of(-6, Unit::db)).value() == -6);
    // Half the amplitude is 6.02 dB: three steps of two.
    Hearing coarse;
    coarse.level_db = 2;
    CHECK(noticeable_steps(amount_of(1, Unit::ratio), amount_of(0.5, Unit::ratio), Role::level, 0, coarse).value() ==
          Approx(3.0103).epsilon(1e-4));
}
