#include "report/standing.h"

#include <algorithm>
#include <numeric>
#include <tuple>

namespace downfit::report {

namespace {

using compat::CautionKind;
using compat::PresetCheck;
using compat::TargetCheck;
using compat::Verdict;
using compat::Weight;

constexpr std::array<std::string_view, standing_count> standing_words{"refused", "severe", "audible", "undecided",
                                                                      "damaged", "near",   "intact"};
constexpr std::array<char, standing_count> letters{'R', 'S', 'A', 'U', 'D', 'N', 'I'};

/// 0 for louder, then feedback, level unknown, none.
int caution_rank(const TargetCheck& target) {
    int rank = 3;
    for (const compat::Caution& caution : target.cautions) rank = std::min(rank, static_cast<int>(caution.kind));
    return rank;
}

void count_caution(int rank, Tally& tally) {
    if (rank == static_cast<int>(CautionKind::louder)) ++tally.louder;
    if (rank == static_cast<int>(CautionKind::feedback)) ++tally.feedback;
    if (rank == static_cast<int>(CautionKind::level_unknown)) ++tally.level_unknown;
}

using Rank = std::tuple<Standing, int, bool, int, long>;

/// What sorts presets: lower is worse.
Rank rank_of(const PresetCheck& preset, const TargetCheck& target) {
    const compat::Finding* main = main_finding(target);
    const Weight weight = heaviest(target);
    const auto heavy = std::count_if(target.findings.begin(), target.findings.end(),
                                     [&](const compat::Finding& finding) { return finding.weight == weight; });
    const bool loud = main == nullptr || !compat::row_of(main->outcome).silent;
    return {standing_of(preset, target), -static_cast<int>(weight), loud, caution_rank(target),
            weight == Weight::none ? 0 : -static_cast<long>(heavy)};
}

template <class RankOf>
std::vector<std::size_t> sorted(const CheckReport& report, const RankOf& rank) {
    std::vector<std::pair<Rank, std::size_t>> ranks;
    for (std::size_t i = 0; i < report.presets.size(); ++i) ranks.emplace_back(rank(report.presets[i].check), i);
    std::sort(ranks.begin(), ranks.end());
    std::vector<std::size_t> order;
    order.reserve(ranks.size());
    for (const auto& ranked : ranks) order.push_back(ranked.second);
    return order;
}

/// The newest release that saved any of the presets.
std::size_t newest_saved_on(const CheckReport& report) {
    std::size_t newest = 0;
    for (const PresetReport& preset : report.presets) {
        for (const std::size_t release : preset.check.saved_on) newest = std::max(newest, release);
    }
    return newest;
}

}  // namespace

Standing standing_of(const PresetCheck& preset, const TargetCheck& target) {
    if (preset.state == dump::SlotState::damaged) return Standing::damaged;
    switch (target.verdict) {
        case Verdict::intact: return Standing::intact;
        case Verdict::near: return Standing::near;
        case Verdict::altered: return heaviest(target) == Weight::severe ? Standing::severe : Standing::audible;
        case Verdict::undecided: return Standing::undecided;
        case Verdict::refused: break;
    }
    return Standing::refused;
}

std::string_view standing_word(Standing standing) {
    return standing_words[static_cast<std::size_t>(standing)];
}

char standing_letter(Standing standing) {
    return letters[static_cast<std::size_t>(standing)];
}

bool told_before(const compat::Finding& a, const compat::Finding& b) {
    const auto key = [](const compat::Finding& finding) {
        return std::tuple(-static_cast<int>(finding.weight), !compat::row_of(finding.outcome).silent,
                          -static_cast<int>(finding.activity));
    };
    return key(a) < key(b);
}

const compat::Finding* main_finding(const TargetCheck& target) {
    const compat::Finding* main = nullptr;
    for (const compat::Finding& finding : target.findings) {
        if (finding.weight != Weight::none && (main == nullptr || told_before(finding, *main))) main = &finding;
    }
    return main;
}

std::vector<std::size_t> finding_order(const TargetCheck& target) {
    std::vector<std::size_t> order(target.findings.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return told_before(target.findings[a], target.findings[b]); });
    return order;
}

std::vector<std::size_t> preset_order(const CheckReport& report, std::size_t target) {
    return sorted(report, [&](const PresetCheck& preset) { return rank_of(preset, preset.targets[target]); });
}

std::vector<std::size_t> preset_order(const CheckReport& report) {
    return sorted(report,
                  [](const PresetCheck& preset) { return rank_of(preset, preset.targets[worst_target(preset)]); });
}

std::size_t worst_target(const PresetCheck& preset) {
    std::size_t worst = 0;
    for (std::size_t i = 1; i < preset.targets.size(); ++i) {
        if (rank_of(preset, preset.targets[i]) < rank_of(preset, preset.targets[worst])) worst = i;
    }
    return worst;
}

Tally tally(const CheckReport& report, std::size_t target) {
    Tally tally;
    for (const PresetReport& preset : report.presets) {
        const TargetCheck& check = preset.check.targets[target];
        const Standing standing = standing_of(preset.check, check);
        ++tally.presets[static_cast<std::size_t>(standing)];
        count_caution(caution_rank(check), tally);
        if (check.stamped_later) ++tally.stamped_later;
        if (check.stamped_later && standing == Standing::undecided) ++tally.undecided_later;
    }
    return tally;
}

Tally cautions_anywhere(const CheckReport& report) {
    Tally tally;
    for (const PresetReport& preset : report.presets) {
        int rank = 3;
        for (const TargetCheck& target : preset.check.targets) rank = std::min(rank, caution_rank(target));
        count_caution(rank, tally);
    }
    return tally;
}

Step best_step(const CheckReport& report) {
    Step best;
    const auto& targets = report.targets;
    if (targets.size() < 2) return best;
    best.from = static_cast<std::size_t>(std::min_element(targets.begin(), targets.end()) - targets.begin());
    std::vector<std::size_t> rising(targets.size());
    std::iota(rising.begin(), rising.end(), std::size_t{0});
    std::sort(rising.begin(), rising.end(), [&](std::size_t a, std::size_t b) { return targets[a] < targets[b]; });
    const std::size_t newest = newest_saved_on(report);
    for (const std::size_t to : rising) {
        if (to == best.from || targets[to] >= newest) continue;
        std::size_t gain = 0;
        std::size_t left = 0;
        for (const PresetReport& preset : report.presets) {
            const bool home = is_safe(standing_of(preset.check, preset.check.targets[to]));
            if (!home) ++left;
            if (home && !is_safe(standing_of(preset.check, preset.check.targets[best.from]))) ++gain;
        }
        if (gain <= best.gain) continue;
        best.to = to;
        best.gain = gain;
        best.left = left;
    }
    return best;
}

}  // namespace downfit::report
