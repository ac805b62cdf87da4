#include "rig/judge_rig.h"

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "base/near_miss.h"
#include "dump/tree.h"
#include "rig/entry_checks.h"
#include "study/readers.h"

namespace downfit::rig {

namespace {

constexpr std::array<std::string_view, play_count> play_names{"intact",  "near",    "substitute",    "undecided",
                                                              "altered", "refused", "another-device"};

Play play_of(const compat::TargetCheck& check) {
    switch (check.verdict) {
        case compat::Verdict::intact: return Play::intact;
        case compat::Verdict::near: return Play::near;
        case compat::Verdict::altered: return Play::altered;
        case compat::Verdict::undecided: return Play::undecided;
        case compat::Verdict::refused: break;
    }
    return Play::refused;
}

constexpr std::array<std::string_view, served_count> served_names{"as-saved", "by-substitute", "assets-lacking",
                                                                  "undecided", "nowhere"};

class RigJudge {
public:
    RigJudge(const Material& material, const compat::Watch& watch)
        : material_(material),
          rig_(*material.rig),
          watch_(watch),
          rulings_(material.policy, material.today),
          checks_(material, rulings_) {
        for (std::size_t unit = 0; unit < rig_.units.size(); ++unit) {
            check_.running.push_back(*material.devices[unit]->find_release(rig_.units[unit].release));
        }
    }

    Result<RigCheck> judge() && {
        for (const schema::RigSong& song : rig_.songs) find_song(song);
        if (!problems_.empty()) return std::move(problems_);
        count_all();
        for (std::size_t preset = 0; preset < check_.presets.size(); ++preset) {
            judge_preset(preset);
            one_done();
        }
        for (std::size_t song = 0; song < check_.songs.size(); ++song) judge_song(song);
        for (std::size_t unit = 0; unit < rig_.units.size(); ++unit) judge_own(unit);
        check_.accepted = std::move(rulings_).finish(rig_.units);
        return std::move(check_);
    }

private:
    /// What there is to do, for the watch.
    void count_all() {
        all_ = check_.presets.size();
        for (std::size_t unit = 0; unit < rig_.units.size(); ++unit) {
            for (const std::size_t from : rig_.units[unit].dumps) {
                for (const dump::Dump* dump : material_.dumps[from]) {
                    if (dump->device == material_.devices[unit])
                        all_ += static_cast<std::size_t>(std::ranges::count_if(
                            dump->entries, [&](const dump::Entry& entry) { return is_own(*dump, entry); }));
                }
            }
        }
    }

    void one_done() {
        ++done_;
        if (watch_) watch_(done_, all_);
    }

    static bool is_own(const dump::Dump& dump, const dump::Entry& entry) {
        return study::holds_preset(*dump.device, entry) && entry.state != dump::SlotState::empty;
    }

    void find_song(const schema::RigSong& song) {
        std::vector<Need>& needs = check_.songs.emplace_back();
        for (const schema::RigNeed& wanted : song.presets) {
            Need need;
            need.preset = find_preset(wanted.preset);
            for (const schema::RigPreset& substitute : wanted.substitutes)
                need.substitutes.push_back(find_preset(substitute));
            needs.push_back(std::move(need));
        }
    }

    /// Index of the preset; what is not there, or stands there twice, is a problem.
    std::size_t find_preset(const schema::RigPreset& wanted) {
        std::vector<Preset> found;
        std::vector<std::string> names;
        for (const dump::Dump* dump : material_.dumps[wanted.dump]) {
            for (const dump::Entry& entry : dump->entries) {
                if (!study::holds_preset(*dump->device, entry) || entry.state == dump::SlotState::empty) continue;
                Preset preset{dump->device, dump, &entry, wanted.dump, -1, name_of(*dump, entry, wanted.dump), {}};
                if (entry.slot >= 0) preset.slot = dump::shown_slot(*dump->device, entry);
                names.push_back(preset.name);
                if (wanted.slot && preset.slot != *wanted.slot) continue;
                if (!wanted.name.empty() && preset.name != wanted.name) {
                    if (wanted.slot) report_name(wanted, preset.name);
                    continue;
                }
                found.push_back(std::move(preset));
            }
        }
        if (found.size() != 1) {
            report_count(wanted, found, names);
            return 0;
        }
        const auto at = std::ranges::find(check_.presets, found.front().entry, &Preset::entry);
        if (at != check_.presets.end()) return static_cast<std::size_t>(at - check_.presets.begin());
        check_.presets.push_back(std::move(found.front()));
        return check_.presets.size() - 1;
    }

    std::string name_of(const dump::Dump& dump, const dump::Entry& entry, std::size_t from) {
        const auto release = study::saving_release(*dump.device, entry, material_.saved_on[from]);
        if (!release || entry.body.empty()) return dump::captured_name(dump, entry);
        return dump::preset_name(checks_.readers(*dump.device).of(*release), entry.body, entry.layout);
    }

    void report_name(const schema::RigPreset& wanted, const std::string& name) {
        named_.insert(&wanted);
        problems_.push_back({wanted.place,
                             "slot " + std::to_string(*wanted.slot) + " of \"" + rig_.dumps[wanted.dump].name +
                                 "\" holds \"" + name + "\", not \"" + wanted.name + '"',
                             "the preset that the rig file means", "mend slot or name, or read the unit out again"});
    }

    void report_count(const schema::RigPreset& wanted, const std::vector<Preset>& found,
                      const std::vector<std::string>& names) {
        if (named_.contains(&wanted)) return;
        const std::string in = '"' + rig_.dumps[wanted.dump].name + '"';
        if (found.size() > 1) {
            std::string slots;
            for (const Preset& preset : found) slots += (slots.empty() ? "" : ", ") + std::to_string(preset.slot);
            problems_.push_back({wanted.place, in + " holds " + std::to_string(found.size()) + " presets that fit",
                                 "one", "say which slot: " + slots});
            return;
        }
        const std::vector<std::string_view> views(names.begin(), names.end());
        std::string what = in + " holds no preset";
        if (wanted.slot) what += " in slot " + std::to_string(*wanted.slot);
        if (!wanted.slot) what += " called \"" + wanted.name + '"';
        problems_.push_back({wanted.place, std::move(what), "a preset of that dump",
                             wanted.slot ? std::string() : did_you_mean(wanted.name, views)});
    }

    /// The same preset, of its releases only the one that the unit runs.
    [[nodiscard]] compat::PresetCheck on_running(const compat::PresetCheck& checked, std::size_t unit) const {
        compat::PresetCheck one;
        one.slot = checked.slot;
        one.name = checked.name;
        one.state = checked.state;
        one.targets.push_back(checked.targets[check_.running[unit]]);
        return one;
    }

    void judge_preset(std::size_t index) {
        Preset& preset = check_.presets[index];
        const auto release = study::saving_release(*preset.device, *preset.entry, material_.saved_on[preset.from]);
        if (release && !preset.entry->body.empty())
            preset.assets =
                assets_of(*preset.device, checks_.readers(*preset.device).of(*release), *preset.entry, *release);
        std::map<Outfit, compat::PresetCheck> checks;
        std::vector<OnUnit>& on = check_.on.emplace_back();
        for (std::size_t unit = 0; unit < rig_.units.size(); ++unit) {
            OnUnit& here = on.emplace_back();
            const schema::Device& device = *material_.devices[unit];
            here.plays.assign(device.releases.size(), Play::foreign);
            if (&device != preset.device) continue;
            const Outfit outfit = checks_.outfit_of(preset.from, unit);
            if (!checks.contains(outfit))
                checks.emplace(outfit, checks_.check(*preset.dump, *preset.entry, preset.from, outfit));
            const compat::PresetCheck& checked = checks.at(outfit);
            for (const compat::TargetCheck& target : checked.targets) here.plays[target.release] = play_of(target);
            compat::PresetCheck running = on_running(checked, unit);
            here.ruling = rulings_.rule(device, running, index, unit);
            here.now = std::move(running.targets.front());
            const Holdings& source = checks_.source(preset.from, device);
            for (const AssetUse& use : preset.assets) {
                const Standing standing = standing_of(use, source, checks_.held(unit));
                if (standing.held != Held::there) here.lacking.push_back({use, standing});
            }
        }
    }

    void judge_song(std::size_t song) {
        std::vector<Pair>& pairs = check_.pairs.emplace_back();
        for (std::size_t unit = 0; unit < rig_.units.size(); ++unit) {
            Pair pair{Play::intact, 0, Ruled::within, false, false, false};
            const std::vector<Need>& needs = check_.songs[song];
            bool passes_later = false;
            for (std::size_t index = 0; index < needs.size(); ++index) {
                const Play play = check_.play(needs[index], unit, check_.running[unit]);
                if (play > pair.play) {
                    pair.play = play;
                    pair.worst = index;
                }
                pair.ruled = std::max(pair.ruled, check_.ruled(needs[index], unit));
                const std::size_t played = check_.played(needs[index], unit, check_.running[unit]);
                add_marks(check_.on[played][unit], pair);
                const std::optional<std::size_t> passing = check_.let_pass(needs[index], unit);
                if (!passing) continue;
                passes_later = add_marks(check_.on[*passing][unit], pair) || passes_later;
            }
            if (pair.ruled == Ruled::within && passes_later) pair.ruled = Ruled::lacking;
            pairs.push_back(pair);
        }
    }

    /// What a preset that would be played brings along; whether something must be put in first.
    static bool add_marks(const OnUnit& here, Pair& pair) {
        pair.caution = pair.caution || !here.now.cautions.empty();
        bool lacks = false;
        for (const Lacking& lacking : here.lacking) {
            const bool unknown = lacking.standing.held == Held::unknown;
            pair.unseen = pair.unseen || unknown;
            lacks = lacks || !unknown;
        }
        pair.lacks = pair.lacks || lacks;
        return lacks;
    }

    void judge_own(std::size_t unit) {
        const std::size_t releases = material_.devices[unit]->releases.size();
        OwnPresets own;
        for (auto* counts : {&own.plays, &own.lost, &own.won}) counts->assign(releases, 0);
        for (const std::size_t from : rig_.units[unit].dumps) {
            for (const dump::Dump* dump : material_.dumps[from]) {
                if (dump->device == material_.devices[unit]) count_own(*dump, from, unit, own);
            }
        }
        check_.own.push_back(std::move(own));
    }

    void count_own(const dump::Dump& dump, std::size_t from, std::size_t unit, OwnPresets& own) {
        for (const dump::Entry& entry : dump.entries) {
            if (!is_own(dump, entry)) continue;
            ++own.count;
            const compat::PresetCheck checked = checks_.check(dump, entry, from, checks_.outfit_of(from, unit));
            one_done();
            if (rulings_.accepts(*dump.device)) rulings_.note(*dump.device, on_running(checked, unit));
            const bool now = as_saved(play_of(checked.targets[check_.running[unit]]));
            for (const compat::TargetCheck& target : checked.targets) {
                const bool then = as_saved(play_of(target));
                own.plays[target.release] += then ? 1 : 0;
                own.lost[target.release] += now && !then ? 1 : 0;
                own.won[target.release] += !now && then ? 1 : 0;
            }
        }
    }

    const Material& material_;
    const schema::Rig& rig_;
    const compat::Watch& watch_;
    std::size_t done_ = 0, all_ = 0;
    RigCheck check_;
    Problems problems_;
    std::set<const schema::RigPreset*> named_;  ///< of which the name is already a problem
    Rulings rulings_;
    EntryChecks checks_;
};

}  // namespace

std::string_view play_name(Play play) {
    return play_names[static_cast<std::size_t>(play)];
}

std::string_view served_name(Served served) {
    return served_names[static_cast<std::size_t>(served)];
}

Served RigCheck::served(std::size_t song) const {
    Served best = Served::nowhere;
    for (const Pair& pair : pairs[song]) {
        Served here = Served::nowhere;
        if (pair.play == Play::undecided) here = Served::undecided;
        if (plays(pair.play)) here = as_saved(pair.play) ? Served::as_saved : Served::by_substitute;
        if (plays(pair.play) && !pair.ready()) here = Served::lacking;
        best = std::min(best, here);
    }
    return best;
}

Ruled RigCheck::ruled(std::size_t song) const {
    Ruled best = Ruled::failing;
    for (const Pair& pair : pairs[song]) best = std::min(best, pair.ruled);
    return best;
}

std::optional<std::size_t> RigCheck::let_pass(const Need& need, std::size_t unit) const {
    const auto passes = [&](std::size_t preset) {
        const OnUnit& here = on[preset][unit];
        return here.plays[running[unit]] != Play::foreign && !here.ruling.fails && !here.ruling.undecided;
    };
    for (const std::size_t preset : {played(need, unit, running[unit]), need.preset}) {
        if (passes(preset)) return preset;
    }
    const auto at = std::ranges::find_if(need.substitutes, passes);
    return at == need.substitutes.end() ? std::nullopt : std::optional(*at);
}

Ruled RigCheck::ruled(const Need& need, std::size_t unit) const {
    if (let_pass(need, unit)) return Ruled::within;
    const auto undecided = [&](std::size_t preset) {
        const OnUnit& here = on[preset][unit];
        return here.plays[running[unit]] != Play::foreign && here.ruling.undecided && !here.ruling.fails;
    };
    const bool any = undecided(need.preset) || std::ranges::any_of(need.substitutes, undecided);
    return any ? Ruled::undecided : Ruled::failing;
}

std::vector<std::size_t> RigCheck::nowhere_as_saved() const {
    std::vector<std::size_t> list;
    for (const std::vector<Need>& needs : songs) {
        for (const Need& need : needs) {
            bool played = std::ranges::find(list, need.preset) != list.end();
            for (std::size_t unit = 0; unit < running.size() && !played; ++unit)
                played = as_saved(on[need.preset][unit].plays[running[unit]]);
            if (!played) list.push_back(need.preset);
        }
    }
    return list;
}

std::size_t RigCheck::played(const Need& need, std::size_t unit, std::size_t release) const {
    if (as_saved(on[need.preset][unit].plays[release])) return need.preset;
    for (const std::size_t substitute : need.substitutes) {
        if (as_saved(on[substitute][unit].plays[release])) return substitute;
    }
    return need.preset;
}

Play RigCheck::play(const Need& need, std::size_t unit, std::size_t release) const {
    const Play itself = on[need.preset][unit].plays[release];
    if (as_saved(itself)) return itself;
    if (played(need, unit, release) != need.preset) return Play::substitute;
    for (const std::size_t substitute : need.substitutes) {
        if (on[substitute][unit].plays[release] == Play::undecided) return Play::undecided;
    }
    return itself;
}

Play RigCheck::play(std::size_t song, std::size_t unit, std::size_t release) const {
    Play worst = Play::intact;
    for (const Need& need : songs[song]) worst = std::max(worst, play(need, unit, release));
    return worst;
}

Result<RigCheck> check_rig(const Material& material, const compat::Watch& watch) {
    return RigJudge(material, watch).judge();
}

}  // namespace downfit::rig
