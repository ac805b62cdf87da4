#include "compat/baseline.h"

#include <algorithm>

namespace downfit::compat {
namespace {

bool is_about(const Caution& caution, const Finding& finding) {
    return caution.parameter == finding.parameter || caution.parameter == finding.parameter_there ||
           finding.parameter.starts_with(caution.parameter + '.');
}

}  // namespace

std::vector<std::set<CautionKind>> cautions_by_finding(const TargetCheck& check) {
    std::vector<std::set<CautionKind>> carried(check.findings.size());
    for (const Caution& caution : check.cautions) {
        const bool placed = std::any_of(check.findings.begin(), check.findings.end(), [&](const Finding& finding) {
            return finding.weight != Weight::none && is_about(caution, finding);
        });
        for (std::size_t i = 0; i < carried.size(); ++i) {
            if (!placed || is_about(caution, check.findings[i])) carried[i].insert(caution.kind);
        }
    }
    return carried;
}

void Baseline::add(const TargetCheck& check, Verdict verdict, Weight weight) {
    targets_[check.fingerprint] = {verdict, weight};
    const auto cautions = cautions_by_finding(check);
    for (std::size_t i = 0; i < check.findings.size(); ++i) {
        const Finding& finding = check.findings[i];
        findings_[finding.fingerprint] = {check.fingerprint, finding.weight, cautions[i]};
    }
}

bool Baseline::knows(const Finding& finding, const std::set<CautionKind>& cautions) const {
    const auto known = findings_.find(finding.fingerprint);
    return known != findings_.end() && finding.weight <= known->second.weight &&
           std::includes(known->second.cautions.begin(), known->second.cautions.end(), cautions.begin(),
                         cautions.end());
}

bool Baseline::knows(const TargetCheck& check, Verdict verdict, Weight weight) const {
    const auto known = targets_.find(check.fingerprint);
    return known != targets_.end() && verdict <= known->second.verdict && weight <= known->second.weight;
}

std::size_t Baseline::gone(const std::vector<const PresetCheck*>& presets) const {
    std::set<std::string> targets, heard;
    for (const PresetCheck* preset : presets) {
        for (const TargetCheck& target : preset->targets) {
            targets.insert(target.fingerprint);
            for (const Finding& finding : target.findings) {
                if (finding.weight != Weight::none) heard.insert(finding.fingerprint);
            }
        }
    }
    return static_cast<std::size_t>(std::count_if(findings_.begin(), findings_.end(), [&](const auto& finding) {
        return finding.second.weight != Weight::none && targets.contains(finding.second.target) &&
               !heard.contains(finding.first);
    }));
}

}  // namespace downfit::compat
