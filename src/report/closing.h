// The end of a text report: what would settle what is undecided, what was not seen, and the usual cautions.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "report/check_report.h"
#include "report/layout.h"

namespace downfit::report {

/// A rule that no schema file states, and how many presets it leaves undecided.
struct UnsettledRule {
    schema::Rule rule = schema::Rule::out_of_range;
    std::size_t presets = 0;
};

/// The rules that would settle presets, those that settle most first.
[[nodiscard]] std::vector<UnsettledRule> unsettled_rules(const CheckReport& report);

/// That intact never means that two releases sound alike. Every report says it.
[[nodiscard]] std::string_view promise();

/// The usual cautions before firmware is changed (common practice, no source). The maker's own instructions come first.
[[nodiscard]] std::string_view usual_cautions();

/// The promise and the first caution alone, for a report that stops after the summary.
void append_promise(std::string& out, const Style& style);

void append_closing(std::string& out, const CheckReport& report, const Style& style);

}  // namespace downfit::report
