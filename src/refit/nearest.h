// The stored number, or text, with which one release comes nearest to what another one meant.
#pragma once

#include <optional>

#include "compat/side.h"
#include "dump/fields.h"

namespace downfit::refit {

/// The storage of the place that a field is read from.
[[nodiscard]] const schema::Storage& storage_of(const compat::Side& side);

/// What T has to store at the place that `t` is read from, so that its value is as near as it can be to that of `n`, in
/// what is heard; within T's range (within what it plays, where it keeps numbers beyond its range) and on its step
/// grid. Nothing where T has no such thing: a choice that it does not know, a unit that cannot be compared, a text that
/// is none.
[[nodiscard]] std::optional<dump::Stored> nearest_stored(const compat::Side& n, const compat::Side& t,
                                                         const compat::Hearing& hearing);

/// What T has to store for the very number of `n`, or the very slot, whatever its range; nothing where it cannot.
[[nodiscard]] std::optional<dump::Stored> same_number(const compat::Side& n, const compat::Side& t);

/// The stored form of a setting there (a label, a number, a text); nothing where there is none.
[[nodiscard]] std::optional<dump::Stored> stored_setting(const schema::Setting& setting, const compat::Side& t);

/// What a reference stores to point at nothing; nothing where T has no such way.
[[nodiscard]] std::optional<dump::Stored> stored_nothing(const compat::Side& t);

/// What a scene's value stores where it is as in the preset itself; nothing where T has no such way.
[[nodiscard]] std::optional<dump::Stored> stored_as_base(const compat::Side& t);

/// How far T is from what N meant, in just-noticeable differences: 0 for the same value, infinite for another thing.
[[nodiscard]] double distance(const compat::Side& n, const compat::Side& t, const compat::Hearing& hearing);

/// `t` as if that were stored there and loaded without any rule.
[[nodiscard]] compat::Loaded loaded_with(const compat::Side& t, const dump::Stored& stored);

}  // namespace downfit::refit
