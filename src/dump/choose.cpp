#include "dump/choose.h"

#include <algorithm>
#include <optional>
#include <tuple>
#include <utility>

namespace downfit::dump {

namespace {

constexpr std::size_t none = static_cast<std::size_t>(-1);

/// One walk through the file.
class Walk {
public:
    Walk(const std::string& file, const schema::Device& device, const Findings& findings, std::vector<std::size_t> votes)
        : file_(file),
          device_(device),
          findings_(findings),
          votes_(std::move(votes)),
          next_(device.framings.size(), 0),
          taken_(findings.items.size(), false) {}

    std::vector<Assembled> run() {
        std::vector<Assembled> chosen;
        for (std::size_t item = 0; item < findings_.items.size(); ++item) {
            std::optional<Assembled> best = best_at(item);
            if (!best) continue;
            for (const std::size_t member : best->series.members) {
                taken_[findings_.readings[best->entry.framing][member].item] = true;
            }
            chosen.push_back(*std::move(best));
        }
        return chosen;
    }

    /// Whether any series could be read in more than one way.
    bool had_a_choice() const { return had_a_choice_; }

private:
    /// The framing's reading of that item, or `none`. Items come in rising order.
    std::size_t reading_at(std::size_t framing, std::size_t item) {
        const std::vector<Reading>& readings = findings_.readings[framing];
        std::size_t& next = next_[framing];
        while (next < readings.size() && readings[next].item < item) ++next;
        return next < readings.size() && readings[next].item == item ? next : none;
    }

    auto score(const Assembled& attempt) const {
        const Entry& entry = attempt.entry;
        return std::make_tuple(stamp_supports(device_, entry), votes_[entry.framing], entry.state != SlotState::damaged,
                               check_count(device_.framings[entry.framing]),
                               is_known_size(device_, entry.framing, entry.body.size()), attempt.series.members.size());
    }

    std::optional<Assembled> best_at(std::size_t item) {
        std::optional<Assembled> best;
        if (taken_[item]) return best;
        for (std::size_t f = 0; f < device_.framings.size(); ++f) {
            const schema::Framing& framing = device_.framings[f];
            const std::size_t first = reading_at(f, item);
            if (first == none || !in_preset(framing, findings_.readings[f][first].pattern)) continue;
            Assembled attempt;
            attempt.series = gather(framing, findings_.readings[f], first, taken_);
            attempt.entry = assemble({file_, device_, f, findings_}, attempt.series);
            had_a_choice_ = had_a_choice_ || best;
            if (!best || score(attempt) > score(*best)) best = std::move(attempt);
        }
        return best;
    }

    const std::string& file_;
    const schema::Device& device_;
    const Findings& findings_;
    std::vector<std::size_t> votes_;
    std::vector<std::size_t> next_;
    std::vector<bool> taken_;
    bool had_a_choice_ = false;
};

}  // namespace

std::vector<Assembled> choose_entries(const std::string& file, const schema::Device& device, const Findings& findings) {
    std::vector<std::size_t> votes(device.framings.size(), 0);
    Walk first(file, device, findings, votes);
    std::vector<Assembled> entries = first.run();
    if (!first.had_a_choice()) return entries;
    for (const Assembled& one : entries) {
        if (one.entry.state != SlotState::damaged) ++votes[one.entry.framing];
    }
    return Walk(file, device, findings, std::move(votes)).run();
}

}  // namespace downfit::dump
