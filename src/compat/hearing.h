// Hearing: when a difference between two values is just noticeable. All thresholds are settings; the defaults and
// their sources stand in docs/loading.md.
#pragma once

#include <optional>

#include "compat/outcome.h"
#include "schema/parameter.h"

namespace downfit::compat {

/// Just-noticeable differences, and where slight ends. All above zero.
struct Hearing {
    double level_db = 1.0;          ///< Jesteadt, Wier & Green, JASA 61 (1977), from memory: 0.5 to 1.44 dB
    double pitch_cents = 5.0;       ///< Wier, Jesteadt & Green, JASA 61, 178 (1977), from memory: 3.4 to 5.9 cents
    double frequency_cents = 67.0;  ///< 0.079 / sqrt(Q) at Q = 4: Gagne & Zurek, JASA 83 (1988), from memory
    double q_share = 0.20;          ///< share of the bandwidth: Flanagan, from memory
    double time_floor_s = 0.006;    ///< below time_knee_s: Friberg & Sundberg (1995), abstract
    double time_knee_s = 0.240;
    double time_share = 0.025;  ///< above time_knee_s: as above
    double decay_share = 0.05;  ///< ISO 3382-1:2009 table A.1, from memory
    double rate_share = 0.03;   ///< Drake & Botte (1993), abstract
    double range_share = 0.02;  ///< of N's range, for anything else: common practice, no source
    double slight_up_to = 3.0;  ///< a difference of so many JND is still slight
    double louder_db = 6.0;     ///< from here a raised level carries a caution
};

/// A physical amount in its base unit: dB, Hz, s, cents, bpm, share (1 = 100 %), degrees, or plain.
enum class BaseUnit : unsigned char { plain, db, hz, seconds, cents, bpm, share, degrees };
struct Amount {
    double value = 0;
    BaseUnit unit = BaseUnit::plain;
};

/// The amount of a value in a schema unit (ms becomes s, kHz Hz, semitones cents, % and ratio a share).
[[nodiscard]] Amount amount_of(double value, schema::Unit unit);

/// The same amount: equal up to the rounding of double arithmetic (relative 1e-9), in the same base unit.
[[nodiscard]] bool same_amount(const Amount& a, const Amount& b);

/// How many just-noticeable differences lie between two amounts of one role. `range_span` is the span of the saving
/// release's range in base units (used where nothing better is known; 0: unknown, then any difference counts as many).
/// Infinite where only one is silence or zero on a ratio scale. Nullopt where the units cannot be compared.
[[nodiscard]] std::optional<double> noticeable_steps(const Amount& a, const Amount& b, schema::Role role,
                                                     double range_span, const Hearing& hearing);

/// none up to one step, slight up to hearing.slight_up_to, audible above.
[[nodiscard]] Weight weight_of_steps(double steps, const Hearing& hearing);

/// Level of `after` above `before` in dB: plain difference for dB, 20 log10 of the ratio for shares; nullopt for other
/// units.
[[nodiscard]] std::optional<double> level_rise_db(const Amount& before, const Amount& after);

/// Whether a feedback amount reaches unity: 100 %, ratio 1, or 0 dB. Other units: never.
[[nodiscard]] bool reaches_unity(const Amount& amount);

}  // namespace downfit::compat
