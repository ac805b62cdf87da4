// Values as people read them, for findings.
#pragma once

#include <string>

#include "compat/check.h"
#include "compat/side.h"

namespace downfit::compat {

/// What stands there and what it means on that side: number with unit, label, text, target.
[[nodiscard]] Shown show(const Side& side);

/// What decided a finding, in a few words: the rule and its action, or what is missing.
[[nodiscard]] std::string rule_text(const Judgement& judgement, const Side& saved, const Side& loading,
                                    const Link& link, const LoadedPreset& saved_preset,
                                    const CompiledRelease& saved_release);

/// The first byte of a field's place in the body.
[[nodiscard]] std::size_t first_byte(const schema::Storage& storage);

/// A stamp as text.
[[nodiscard]] std::string stamp_text(const schema::Stamp& stamp);

}  // namespace downfit::compat
