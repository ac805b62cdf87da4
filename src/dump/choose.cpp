#include "dump/choose.h"

#include <algorithm>
#include <optional>
#include <tuple>
#include <utility>

#include "base/limits.h"
#include "dump/entries.h"

namespace downfit::dump {

namespace {

constexpr std::size_t no_framing = static_cast<std::size_t>(-1);

/// How often a framing was tried on this file, and how often nothing was wrong.
struct Fitness {
    std::size_t tried = 0;
    std::size_t sound = 0;

    bool fits_mostly() const { return tried > 0 && 2 * sound >= tried; }
};

/// One walk through the file.
class Walk {
public:
    Walk(const std::string& file, const schema::Device& device, const Findings& findings,
         std::vector<std::size_t> votes)
        : file_(file),
          device_(device),
          findings_(findings),
          votes_(std::move(votes)),
          fitness_(device.framings.size()),
          next_(device.framings.size(), 0),
          taken_(findings.items.size(), false) {}

    std::vector<Assembled> run() {
        std::vector<Assembled> chosen;
        for (std::size_t item = 0; item < findings_.items.size(); ++item) {
            std::optional<Assembled> best = best_at(item);
            if (!best) continue;
            for (const std::size_t member : best->series.members) {
                taken_[findings_.readings[best->framing][member].item] = true;
            }
            for (const Entry& entry : best->entries) unpacked_ += entry.body.size();
            chosen.push_back(*std::move(best));
        }
        return chosen;
    }

    /// Whether any series could be read in more than one way.
    bool had_a_choice() const { return had_a_choice_; }

    /// How much each framing is to be preferred in this file: the more it checks the more, if what it reads mostly is
    /// sound.
    std::vector<std::size_t> votes() const {
        std::vector<std::size_t> votes;
        for (std::size_t f = 0; f < fitness_.size(); ++f) {
            votes.push_back(fitness_[f].fits_mostly() ? 1 + check_count(device_.framings[f]) : 0);
        }
        return votes;
    }

private:
    /// The framing's reading of that item, or `none`. Items come in rising order.
    std::size_t reading_at(std::size_t framing, std::size_t item) {
        const std::vector<Reading>& readings = findings_.readings[framing];
        std::size_t& next = next_[framing];
        while (next < readings.size() && readings[next].item < item) ++next;
        return next < readings.size() && readings[next].item == item ? next : no_framing;
    }

    /// Of two framings that cut an image, the one that cuts more whole presets fits better.
    static std::ptrdiff_t whole_in_image(const Assembled& attempt) {
        if (!attempt.image) return 0;
        return std::ranges::ssize(attempt.entries) - std::ranges::count_if(attempt.entries, is_damaged);
    }

    static bool is_sound(const Assembled& attempt) { return std::ranges::none_of(attempt.entries, &is_damaged); }

    auto score(const Assembled& attempt) const {
        const Reading& head = findings_.readings[attempt.framing][attempt.series.members.front()];
        const schema::Framing& framing = device_.framings[attempt.framing];
        const bool has_entry = !attempt.entries.empty();
        return std::make_tuple(
            literal_count(framing.messages[head.pattern]),
            has_entry && stamp_supports(device_, attempt.entries.front()), votes_[attempt.framing], is_sound(attempt),
            whole_in_image(attempt), check_count(framing),
            has_entry && is_known_size(device_, attempt.framing, attempt.entries.front().body.size()),
            attempt.series.members.size());
    }

    std::optional<Assembled> best_at(std::size_t item) {
        std::optional<Assembled> best;
        if (taken_[item]) return best;
        for (std::size_t f = 0; f < device_.framings.size(); ++f) {
            const schema::Framing& framing = device_.framings[f];
            const std::size_t first = reading_at(f, item);
            if (first == no_framing || !in_preset(framing, findings_.readings[f][first].pattern)) continue;
            Assembled attempt = assemble({file_, device_, f, findings_, unpacked_ > limits::most_unpacked},
                                         gather(framing, findings_.readings[f], first, taken_));
            ++fitness_[f].tried;
            if (is_sound(attempt)) ++fitness_[f].sound;
            had_a_choice_ = had_a_choice_ || best;
            if (!best || score(attempt) > score(*best)) best = std::move(attempt);
        }
        return best;
    }

    const std::string& file_;
    const schema::Device& device_;
    const Findings& findings_;
    std::vector<std::size_t> votes_;
    std::vector<Fitness> fitness_;
    std::vector<std::size_t> next_;
    std::vector<bool> taken_;
    bool had_a_choice_ = false;
    std::size_t unpacked_ = 0;  // bytes of all bodies so far
};

}  // namespace

std::vector<Assembled> choose_entries(const std::string& file, const schema::Device& device, const Findings& findings) {
    Walk first(file, device, findings, std::vector<std::size_t>(device.framings.size(), 0));
    std::vector<Assembled> entries = first.run();
    if (!first.had_a_choice()) return entries;
    return Walk(file, device, findings, first.votes()).run();
}

}  // namespace downfit::dump
