#include "report/outcome_counts.h"

#include <algorithm>

namespace downfit::report {

std::vector<OutcomeCount> outcome_counts(const CheckReport& report) {
    std::vector<OutcomeCount> counts;
    for (const compat::OutcomeRow& row : compat::outcome_table())
        counts.push_back({&row, std::vector<std::size_t>(report.targets.size())});
    for (const PresetReport& preset : report.presets) {
        for (std::size_t i = 0; i < preset.check.targets.size(); ++i) {
            for (const compat::Finding& finding : preset.check.targets[i].findings)
                ++counts[static_cast<std::size_t>(finding.outcome)].on[i];
        }
    }
    std::erase_if(counts, [](const OutcomeCount& count) {
        return std::ranges::all_of(count.on, [](std::size_t number) { return number == 0; });
    });
    return counts;
}

}  // namespace downfit::report
