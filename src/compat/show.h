// Values as people read them, for findings.
#pragma once

#include <string>

#include "compat/check.h"
#include "compat/side.h"

namespace downfit::compat {

/// What N found in the dump and what it means there: number with unit, label, text, target.
[[nodiscard]] Shown show_saved(const Side& side);

/// What T has after loading.
[[nodiscard]] Shown show_loaded(const Side& side);

/// What N itself does with a stored number that its own range or choices do not take; empty where it takes it.
[[nodiscard]] std::string overflow_text(const Side& saved);

/// What decided a finding, in a few words: the rule and its action, or what is missing.
[[nodiscard]] std::string rule_text(const Judgement& judgement, const Side& saved, const Side& loading,
                                    const Link& link, const LoadedPreset& saved_preset,
                                    const CompiledRelease& saved_release);

/// The first byte in the body of the place that was read; none where nothing was there, or where it is the unit's.
[[nodiscard]] std::optional<std::size_t> body_byte(const Side& side);

/// A stamp as text.
[[nodiscard]] std::string stamp_text(const schema::Stamp& stamp);

}  // namespace downfit::compat
