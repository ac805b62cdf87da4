// Findings in plain words. Everything returned is printable, on one line and not yet cut to a width.
#pragma once

#include <string>
#include <string_view>

#include "compat/check.h"
#include "report/check_report.h"

namespace downfit::report {

/// "amp[1] model" of "amp[1].alternate[2].model": enough to know where to look.
[[nodiscard]] std::string short_parameter(const std::string& id);

/// The name in double quotes, or "(no name)".
[[nodiscard]] std::string quoted_name(const std::string& name);

/// "slot 12", or "preset 3 of the file" where the dump does not number it.
[[nodiscard]] std::string slot_words(const PresetReport& preset);
/// "12", or "#3".
[[nodiscard]] std::string slot_label(const PresetReport& preset);

/// What becomes of a parameter: "comes up as Crown 15 instead of Crown 30".
[[nodiscard]] std::string fate(const compat::Finding& finding);

/// The same in few words, for tables: "Crown 30 -> Crown 15".
[[nodiscard]] std::string short_fate(const compat::Finding& finding);

/// The main reason for a preset's standing on a target: what is lost or changed, why it is refused, undecided or
/// damaged. Empty where there is nothing to tell. `in_short` for tables.
[[nodiscard]] std::string main_reason(const PresetReport& preset, const compat::TargetCheck& target,
                                      bool in_short = false);

/// "no filter there": what a cause is, without its weight.
[[nodiscard]] std::string cause_words(const compat::Cause& cause, const std::string& release);

/// "8 dB louder", "louder, from silence", "feedback reaches unity", "level unknown".
[[nodiscard]] std::string caution_words(const compat::Caution& caution);

/// The release on which the main finding is right again; empty where none is known.
[[nodiscard]] std::string right_from(const compat::TargetCheck& target);

/// "saved on 3.00", "saved on 2.00 beta 1 or 2.00", "saved on an unknown release (stamp 999)".
[[nodiscard]] std::string saved_words(const CheckReport& report, const compat::PresetCheck& preset);

}  // namespace downfit::report
