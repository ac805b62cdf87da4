// What a stored number or text means, for people: "-12.5 dB", "Hall", "On".
#pragma once

#include <string>
#include <string_view>

#include "dump/fields.h"
#include "schema/device.h"

namespace downfit::dump {

/// A space and the unit as written after a number (" dB"); empty for none and for ratios.
[[nodiscard]] std::string_view unit_suffix(schema::Unit unit);

/// The value of a stored number: 1 or 0 for a switch, else by the scale.
[[nodiscard]] double value_of(const schema::Parameter& parameter, const schema::Meaning& meaning, const Stored& stored);

/// The value as text: number with unit, label, "On" or "Off", the text in UTF-8, what a reference points at. "?" for a
/// number that has no meaning, empty beyond the body's end.
[[nodiscard]] std::string value_text(const schema::Release& release, const schema::Parameter& parameter,
                                     const schema::Meaning& meaning, const Stored& stored);

/// Whether what is stored is that setting (a value, a label, or a text).
[[nodiscard]] bool is_setting(const schema::Parameter& parameter, const schema::Meaning& meaning, const Stored& stored,
                              const schema::Setting& setting);

/// Whether a number lies outside its range. The ends are the stored numbers nearest to them.
[[nodiscard]] bool is_beyond_range(const schema::Parameter& parameter, const schema::Meaning& meaning,
                                   const Stored& stored);

/// Whether two values are the same but for the noise of computing them.
[[nodiscard]] bool same_value(double a, double b);

}  // namespace downfit::dump
