#include "second/refitted.h"

#include <algorithm>

#include "schema/load.h"

namespace downfit::testing::second {
namespace {

/// Verdicts in the order of getting worse.
int rank_of(const std::string& verdict) {
    static const std::vector<std::string> order{"intact", "near", "altered", "undecided", "refused"};
    return static_cast<int>(std::find(order.begin(), order.end(), verdict) - order.begin());
}

bool is_worse(const Told& now, const Told& alone) {
    if (now.verdict != alone.verdict) return rank_of(now.verdict) > rank_of(alone.verdict);
    return now.verdict == "undecided" && rank_of(now.worst) > rank_of(alone.worst);
}

int worst_of(const std::set<Fate>& fates) {
    int worst = none;
    for (const Fate& fate : fates) worst = std::max(worst, fate.worst);
    return worst;
}

std::string words_of(const Fate& fate) {
    return fate.outcome + " " + std::to_string(fate.worst) + " (" + fate.meant + " -> " + fate.there + ")";
}

/// Judges a body that was written for the loading release.
Told judge_written(Pair& pair, const Shelf& shelf, const Body& original, const Body& now) {
    pair.rewritten = true;
    Told told = judge(pair, shelf, original, now);
    pair.rewritten = false;
    return told;
}

/// No number is the right one where nobody knows what was meant, where the same thing sounds otherwise, for a text, and
/// for what points at nothing where there is no such way.
bool has_no_place(const Fate& fate) {
    const bool text = (fate.meant.front() == '"') != (fate.there.front() == '"');
    return fate.outcome == "unsure" || fate.outcome == "revoiced" || fate.meant == "nothing" ||
           (text && fate.meant != "-");
}

/// Whether `now` is better for one parameter, and worse for nothing.
bool is_nearer(const Told& now, const Told& before, const std::string& name) {
    if (now.too_many || is_worse(now, before)) return false;
    const auto found = now.fates.find(name);
    if (found == now.fates.end() || worst_of(found->second) >= worst_of(before.fates.at(name))) return false;
    return std::all_of(now.fates.begin(), now.fates.end(), [&](const auto& one) {
        const auto was = before.fates.find(one.first);
        return worst_of(one.second) <= (was == before.fates.end() ? static_cast<int>(none) : worst_of(was->second));
    });
}

/// The body with other bits at those places, the first the most significant.
Bits with_bits(Bits bytes, const std::vector<std::int64_t>& places, unsigned bits) {
    for (std::size_t i = 0; i < places.size(); ++i) {
        const auto byte = static_cast<std::size_t>(places[i] / 8);
        const auto mask = static_cast<std::uint8_t>(1U << (places[i] % 8));
        const bool set = (bits >> (places.size() - 1 - i) & 1U) != 0;
        bytes[byte] = static_cast<std::uint8_t>(set ? bytes[byte] | mask : bytes[byte] & ~mask);
    }
    return bytes;
}

class Examination {
public:
    Examination(Pair& pair, const Shelf& shelf, const Refit& refit, RefitTally& tally)
        : pair_(pair), shelf_(shelf), refit_(refit), tally_(tally) {}

    std::string look(int most) {
        const Told alone = judge(pair_, shelf_, refit_.original);
        ++tally_.presets;
        if (!refit_.written || alone.cut) {
            const bool touched = refit_.now.bytes != refit_.original.bytes || refit_.now.stamp != refit_.original.stamp;
            return touched ? "it was left, and changed all the same\n" : std::string();
        }
        ++tally_.written;
        const Told after = judge_written(pair_, shelf_, refit_.original, refit_.now);
        if (after.too_many || alone.too_many) return {};
        if (is_worse(after, alone))
            tell("it is worse off: " + after.verdict + " (" + after.best + ".." + after.worst + "), left alone " +
                 alone.verdict + " (" + alone.best + ".." + alone.worst + ")");
        if (!refit_.all_tried) {
            if (refit_.verdict != "undecided") tell("the library tells " + refit_.verdict + " without trying all");
            return std::move(broken_);
        }
        if (std::tie(after.verdict, after.best, after.worst) != std::tie(refit_.verdict, refit_.best, refit_.worst))
            tell("the library tells " + refit_.verdict + " (" + refit_.best + ".." + refit_.worst + "), the second " +
                 after.verdict + " (" + after.best + ".." + after.worst + ")");
        if (rank_of(after.verdict) < rank_of(alone.verdict)) ++tally_.better;
        look_at_untouched();
        look_at_remaining(after, most);
        return std::move(broken_);
    }

private:
    void tell(const std::string& what) { broken_ += what + "\n"; }

    void look_at_untouched() {
        Body stamped = refit_.original;
        stamped.stamp = refit_.now.stamp;
        const Told told = judge_written(pair_, shelf_, refit_.original, stamped);
        const bool differs =
            std::any_of(told.fates.begin(), told.fates.end(), [](const auto& one) { return worst_of(one.second) > 0; });
        // What lies under a place of the other release sounds right by chance only, and may be put right.
        const bool by_chance = std::any_of(told.fates.begin(), told.fates.end(), [](const auto& one) {
            return std::any_of(one.second.begin(), one.second.end(), [](const Fate& f) { return f.outcome != "kept"; });
        });
        if (told.verdict != "intact" || differs || by_chance || !told.doubts.empty()) return;
        ++tally_.untouched;
        if (refit_.now.bytes != refit_.original.bytes) tell("all of it arrives as it is, and it was changed");
    }

    void look_at_remaining(const Told& after, int most) {
        const bool clear = after.worlds == 1 && after.verdict != "refused";
        for (const auto& [name, fates] : after.fates) {
            if (worst_of(fates) == none) continue;
            ++tally_.remaining;
            const bool displaced = std::any_of(fates.begin(), fates.end(), [](const Fate& fate) {
                return fate.outcome == "displaced" && fate.worst > none;
            });
            if (displaced) tell(name + " is displaced");
            if (std::any_of(fates.begin(), fates.end(), has_no_place)) continue;
            const std::string there = name.substr(name.find('|') + 1);
            if (clear && most > 0 && !there.empty() && refit_.withheld.count(there) == 0 &&
                try_others(after, name, there))
                --most;
        }
    }

    /// Whether another parameter has its place there too, so that what one gains the other may lose.
    bool shares_place(const std::string& name, const Had& had) const {
        const std::set<Place> places(had.places.begin(), had.places.end());
        return std::any_of(pair_.loading_sheet.lines.begin(), pair_.loading_sheet.lines.end(), [&](const auto& one) {
            if (one.first == name) return false;
            const auto other = places_of(one.second.entry->says, one.second.run, one.second.base);
            return std::any_of(other.begin(), other.end(),
                               [&](const Place& place) { return places.count(place) != 0; });
        });
    }

    /// Puts every number that the place of one parameter can hold. False where it cannot hold one, or too many.
    bool try_others(const Told& after, const std::string& name, const std::string& there) {
        const Played played = play(pair_.loading, pair_.loading_sheet, shelf_, refit_.now, {}, {});
        const auto had = played.had.find(there);
        if (had == played.had.end() || !had->second.read || had->second.bits.size() > 8) return false;
        // What the release reads otherwise than it stands, refitting does not look behind.
        if (!pair_.loading.repairs.empty() || shares_place(there, had->second)) return false;
        ++tally_.tried;
        for (unsigned bits = 0; bits < 1U << had->second.bits.size(); ++bits) {
            Body other = refit_.now;
            other.bytes = with_bits(other.bytes, had->second.bits, bits);
            if (other.bytes == refit_.now.bytes) continue;
            const Told told = judge_written(pair_, shelf_, refit_.original, other);
            if (!is_nearer(told, after, name)) continue;
            tell(name + " is " + words_of(*after.fates.at(name).begin()) + "; with the bits " + std::to_string(bits) +
                 " at its place " + words_of(*told.fates.at(name).begin()));
            return true;
        }
        return true;
    }

    Pair& pair_;
    const Shelf& shelf_;
    const Refit& refit_;
    RefitTally& tally_;
    std::string broken_;
};

/// The messages of dump_of, read by hand: body and number of the release by slot.
std::vector<std::pair<Bits, int>> bodies_in(const Bits& dump) {
    std::vector<std::pair<Bits, int>> bodies;
    for (std::size_t at = 0; at < dump.size(); ++at) {
        Bits body;
        const int stamp = dump.at(at + 4);
        for (at += 5; dump.at(at) != 0xF7; at += 2)
            body.push_back(static_cast<std::uint8_t>(dump.at(at) << 4 | dump.at(at + 1)));
        bodies.emplace_back(std::move(body), stamp);
    }
    return bodies;
}

std::string hex(const Bits& bytes) {
    static const char digits[] = "0123456789ABCDEF";
    std::string text;
    for (const std::uint8_t byte : bytes) text += {digits[byte >> 4], digits[byte & 15], ' '};
    return text;
}

refit::RefitOptions options_for(std::size_t target) {
    refit::RefitOptions options;
    options.check.targets = {target};
    options.check.brought_by = false;
    return options;
}

/// Whether one preset that is refused takes all of its dump along.
bool one_takes_all(const Shelf& shelf) {
    const auto says = [](const json& file) { return file.dump().find(R"("refuses":"dump")") != std::string::npos; };
    return says(shelf.device) || std::any_of(shelf.releases.begin(), shelf.releases.end(),
                                             [&](const auto& release) { return says(release.second); });
}

/// One device and a pair of its releases.
struct Bench {
    const Scene& scene;
    const schema::Device& device;
    const Shelf& shelf;
    Pair& pair;
    RefitTally& tally;

    std::string look_at(const refit::RefitResult& result, std::size_t i, const Bits& original, const Bits& now,
                        int stamp) const {
        const int slot = static_cast<int>(i) + 1;
        const bool restamped = stamp == scene.loading[0] - '0';
        const Refit refit = refit_told(result, i, {original, order_of(shelf, scene.saved), slot, {}},
                                       {now, order_of(shelf, restamped ? scene.loading : scene.saved), slot, {}});
        std::string text = refit.written && !restamped ? "it has not the stamp of the release\n" : "";
        text += broken_by(pair, shelf, refit, 2, tally);
        return text.empty() ? text : text + hex(original) + " was written as\n" + hex(now) + '\n';
    }

    /// Refits the dump that holds these bodies.
    std::optional<Disagreement> refit_all(const std::vector<Bits>& bodies) const {
        const Bits bytes = dump_of(scene.saved, bodies);
        const auto dump = dump::read("bank.syx", bytes, device);
        if (!dump) return Disagreement{-1, "the library does not read the dump"};
        const refit::RefitOptions options = options_for(order_of(shelf, scene.loading));
        const auto refitted = refit::refit(dump.value(), bytes, options);
        if (!refitted) return Disagreement{-1, "not refitted: " + refitted.problems().front().what};
        const Bits& written = refitted.value().bytes;
        const auto now = bodies_in(written);
        if (now.size() != bodies.size()) return Disagreement{-1, "another number of messages was written"};
        for (std::size_t i = 0; i < bodies.size(); ++i) {
            const std::string text = look_at(refitted.value(), i, bodies[i], now[i].first, now[i].second);
            if (!text.empty()) return Disagreement{static_cast<int>(i), text};
        }
        const auto back = dump::read("bank.syx", written, device);
        if (!back) return Disagreement{-1, "what was written cannot be read"};
        const auto again = refit::refit(back.value(), written, options);
        if (!again || again.value().bytes != written) return Disagreement{-1, "refitting twice changes more"};
        return std::nullopt;
    }
};

}  // namespace

Refit refit_told(const refit::RefitResult& result, std::size_t preset, Body original, Body now) {
    const refit::Refitted& told = result.presets[preset];
    const compat::TargetCheck& target = result.check.presets[preset].targets.front();
    Refit refit{std::move(original),
                std::move(now),
                told.fate == refit::Fate::written,
                std::string(compat::verdict_name(target.verdict)),
                std::string(compat::verdict_name(target.best)),
                std::string(compat::verdict_name(target.worst)),
                target.all_tried,
                {}};
    for (const refit::Note& note : told.notes) {
        if (note.kind == refit::Note::Kind::withheld) refit.withheld.insert(note.parameter);
    }
    return refit;
}

std::string broken_by(Pair& pair, const Shelf& shelf, const Refit& refit, int most, RefitTally& tally) {
    return Examination(pair, shelf, refit, tally).look(most);
}

std::optional<Disagreement> look_at_refit(const Scene& scene, const std::vector<Bits>& bodies, RefitTally& tally) {
    std::vector<schema::SourceFile> sources;
    for (const auto& [name, text] : scene.files) sources.push_back({name, text});
    const auto loaded = schema::load_device(sources);
    if (!loaded) return Disagreement{-1, "the library does not take the device"};
    const Shelf shelf = shelf_of(scene.files);
    Pair pair = pair_of(shelf, scene.saved, scene.loading);
    const Bench bench{scene, loaded.value(), shelf, pair, tally};
    if (!one_takes_all(shelf)) return bench.refit_all(bodies);
    for (std::size_t i = 0; i < bodies.size(); ++i) {
        auto found = bench.refit_all({bodies[i]});
        if (found && found->preset >= 0) found->preset = static_cast<int>(i);
        if (found) return found;
    }
    return std::nullopt;
}

}  // namespace downfit::testing::second
