#include "compat/heaviest.h"

#include <algorithm>

namespace downfit::compat {

Weight heaviest(const TargetCheck& target) {
    Weight weight = Weight::none;
    for (const Finding& finding : target.findings) weight = std::max(weight, finding.weight);
    return weight;
}

Verdict verdict_of(Weight weight) {
    if (weight == Weight::none) return Verdict::intact;
    return weight == Weight::slight ? Verdict::near : Verdict::altered;
}

}  // namespace downfit::compat
