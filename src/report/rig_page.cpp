#include <algorithm>
#include <map>
#include <set>

#include "files/input.h"
#include "report/closing.h"
#include "report/problems.h"
#include "report/rig_report.h"
#include "report/rig_ruling.h"
#include "report/rig_words.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using rig::Served;

std::string songs_text(std::size_t number) {
    return counted(number, "song", "songs");
}

/// Makes the sections one after the other.
class RigOutline {
public:
    explicit RigOutline(const RigReport& report) : report_(report), check_(*report.check), moves_(*report.moves) {}

    Outline make() {
        std::set<const schema::Device*> devices(report_.material->devices.begin(), report_.material->devices.end());
        const std::string title = report_.rig().title.empty() ? "The rig" : brief(report_.rig().title);
        outline_.title = title + ", on paper: " + songs_text(songs()) + " on " + counted(units(), "unit", "units");
        add_summary();
        add_matrix();
        add_reasons();
        if (std::vector<OutlineLine> lines = rig_accepted_lines(report_); !lines.empty())
            section("Accepted by the policy").lines = std::move(lines);
        add_nowhere();
        add_assets();
        for (std::size_t unit = 0; unit < units(); ++unit) {
            if (devices.erase(report_.material->devices[unit]) > 0) add_moves(*report_.material->devices[unit]);
        }
        add_advice();
        add_besides();
        return std::move(outline_);
    }

private:
    [[nodiscard]] std::size_t songs() const { return check_.songs.size(); }
    [[nodiscard]] std::size_t units() const { return check_.running.size(); }
    OutlineSection& section(const std::string& heading) {
        return outline_.sections.emplace_back(OutlineSection{heading});
    }

    [[nodiscard]] std::vector<std::size_t> songs_with(Served served) const {
        std::vector<std::size_t> list;
        for (std::size_t song = 0; song < songs(); ++song) {
            if (check_.served(song) == served) list.push_back(song);
        }
        return list;
    }

    void add_served(OutlineSection& summary) const {
        const std::size_t saved = songs_with(Served::as_saved).size();
        summary.lines.push_back({std::to_string(saved) + " of " + songs_text(songs()) + (saved == 1 ? " is" : " are") +
                                     " played as saved by some unit as it is.",
                                 saved == songs() ? Tone::good : Tone::plain, true});
        const auto add = [&](Served served, const std::string& words, Tone tone) {
            const std::vector<std::size_t> list = songs_with(served);
            if (!list.empty())
                summary.lines.push_back(
                    {std::to_string(list.size()) + ' ' + words + ": " + song_list(report_, list) + '.', tone, true});
        };
        add(Served::by_substitute, "only by a substitute", Tone::mild);
        add(Served::lacking, "only once what is lacking (below) is put in", Tone::bad);
        add(Served::undecided, "cannot be decided", Tone::unknown);
        add(Served::nowhere, "by no unit", Tone::worst);
    }

    void add_summary() {
        OutlineSection& summary = section("");
        add_served(summary);
        for (OutlineLine& line : rig_policy_lines(report_)) summary.lines.push_back(std::move(line));
        std::vector<std::size_t> careful;
        for (std::size_t song = 0; song < songs(); ++song) {
            const auto caution = [](const rig::Pair& pair) {
                return (rig::plays(pair.play) || pair.let_pass()) && pair.caution;
            };
            if (std::ranges::any_of(check_.pairs[song], caution)) careful.push_back(song);
        }
        if (!careful.empty())
            summary.lines.push_back({"MONITORS DOWN before the first note of " + song_list(report_, careful) +
                                         ": a unit that plays it may come out louder, or at any level.",
                                     Tone::caution});
        if (moves_.best) {
            const rig::Move& best = moves_.all[*moves_.best];
            summary.lines.push_back(
                {"Best single move: " + move_words(report_, best) + ": " + move_effect(report_, best) + '.'});
        } else {
            summary.lines.push_back({"No single move of a unit brings more than it costs."});
        }
        summary.lines.push_back({plan_words()});
        add_limits(summary.lines);
        const auto broken = std::ranges::find_if(report_.files, [](const auto& file) { return !file.damage.empty(); });
        if (broken != report_.files.end())
            summary.lines.push_back({broken->file + " is not whole: " + broken->damage + '.', Tone::worst});
        summary.lines.push_back({next_words(broken != report_.files.end())});
    }

    [[nodiscard]] std::string plan_words() const {
        const rig::Plan& plan = moves_.served;
        const bool all = plan.beyond.empty() && plan.missed.empty();
        const std::string what = all ? "the whole set list" : "as many songs as can be";
        if (plan.moves.empty())
            return all ? "No move is needed for the whole set list: some unit plays each song as it is, or a "
                         "substitute."
                       : "No set of moves serves more songs than are served now.";
        std::string text = "Smallest set of moves that serves " + what + ": " + std::to_string(plan.moves.size()) +
                           (plan.exact ? ", and no fewer do it: " : ", a good guess, not proven the smallest: ");
        for (std::size_t i = 0; i < moves_.plan.size(); ++i)
            text += (i == 0 ? "" : "; ") + move_words(report_, moves_.all[moves_.plan[i]]);
        return text + '.';
    }

    void add_limits(std::vector<OutlineLine>& lines) const {
        const rig::Plan& plan = moves_.served;
        if (!plan.beyond.empty())
            lines.push_back({"On no release open to any unit: " + song_list(report_, plan.beyond) + '.', Tone::worst});
        if (!plan.missed.empty())
            lines.push_back({"Not together with the others: " + song_list(report_, plan.missed) + '.', Tone::bad});
    }

    [[nodiscard]] std::string next_words(bool broken) const {
        if (broken) return "Next: read this dump out of the unit once more; it did not arrive whole.";
        if (!songs_with(Served::lacking).empty()) return "Next: put in what the units lack, then ask again.";
        const std::size_t* move = moves_.plan.empty() ? nullptr : &moves_.plan.front();
        if (move == nullptr && moves_.best && songs_with(Served::as_saved).size() < songs()) move = &*moves_.best;
        if (move == nullptr) return "Next: back up every unit as it is now.";
        const rig::Move& first = moves_.all[*move];
        return "Next: back up " + brief(report_.rig().units[first.unit].name) +
               " as it is now and read the maker's notes on " + brief(report_.release(first.unit, first.release)) +
               "; then decide.";
    }

    void add_matrix() {
        OutlineSection& matrix = section("Songs, in playing order, and units");
        matrix.table.heads.emplace_back("song");
        matrix.table.filter = OutlineFilter{{{'I', "intact"},
                                             {'N', "near, or by a substitute"},
                                             {'U', "undecided"},
                                             {'A', "altered"},
                                             {'S', "severely altered"},
                                             {'R', "refused"},
                                             {'-', "of another device"}},
                                            "the best unit",
                                            "playing order"};
        for (std::size_t unit = 0; unit < units(); ++unit)
            matrix.table.heads.push_back(brief(report_.rig().units[unit].name) + ' ' +
                                         brief(report_.rig().units[unit].release));
        for (std::size_t song = 0; song < songs(); ++song) {
            matrix.table.filter->names.push_back(brief(report_.rig().songs[song].title));
            auto& row = matrix.table.rows.emplace_back();
            row.push_back({std::to_string(song + 1) + ". " + brief(report_.rig().songs[song].title)});
            for (std::size_t unit = 0; unit < units(); ++unit) row.push_back(pair_cell(report_, song, unit));
        }
        matrix.after.push_back({pair_legend(report_), Tone::faint});
    }

    void add_reasons() {
        std::vector<OutlineLine> lines;
        for (std::size_t song = 0; song < songs(); ++song) {
            std::vector<std::pair<std::string, std::string>> reasons;  // and on which units
            for (std::size_t unit = 0; unit < units(); ++unit) {
                std::string reason = pair_reason(report_, song, unit);
                if (reason.empty()) continue;
                if (check_.pairs[song][unit].let_pass()) reason += "; the policy lets it pass";
                if (check_.pairs[song][unit].held_back()) reason += "; the policy does not let it pass";
                const auto at = std::ranges::find(reasons, reason, &std::pair<std::string, std::string>::first);
                const std::string name = brief(report_.rig().units[unit].name);
                if (at == reasons.end()) {
                    reasons.emplace_back(reason, name);
                } else {
                    at->second += ", " + name;
                }
            }
            for (const auto& [reason, on] : reasons) {
                std::string text = brief(report_.rig().songs[song].title);
                text.append(" on ").append(on).append(": ").append(reason).append(".");
                lines.push_back({std::move(text), Tone::plain, true, song});
            }
        }
        if (!lines.empty()) section("What stands in the way").lines = std::move(lines);
    }

    /// Units and releases on which a preset would arrive as saved, of the moves that are open.
    [[nodiscard]] std::string where_right(std::size_t preset) const {
        std::string text;
        for (const rig::Move& move : moves_.all) {
            if (move.barrier != rig::Barrier::none) continue;
            if (!rig::as_saved(check_.on[preset][move.unit].plays[move.release])) continue;
            text += (text.empty() ? "" : ", ") + brief(report_.rig().units[move.unit].name) + " on " +
                    brief(report_.release(move.unit, move.release));
        }
        return text.empty() ? "nor on any release open to one" : "would: " + text;
    }

    void add_nowhere() {
        const std::vector<std::size_t> presets = check_.nowhere_as_saved();
        if (presets.empty()) return;
        OutlineSection& nowhere = section("No unit plays these presets as saved");
        for (const std::size_t preset : presets)
            nowhere.lines.push_back(
                {preset_words(report_, preset) + "; " + where_right(preset) + '.', Tone::plain, true});
    }

    static std::string use_words(const rig::Lacking& lacking) {
        std::string text = brief(lacking.use.title);
        if (lacking.use.slot >= 0) text += ' ' + std::to_string(lacking.use.slot);
        if (!lacking.standing.meant.empty()) text += ' ' + quoted_name(lacking.standing.meant);
        if (lacking.standing.held == rig::Held::missing) text += " (nothing there)";
        if (lacking.standing.held == rig::Held::other)
            text += " (" + quoted_name(lacking.standing.there) + " is there)";
        return text;
    }

    /// What a unit needs for songs that it plays, or would play on another release.
    void add_assets() {
        std::vector<OutlineLine> lines;
        for (std::size_t unit = 0; unit < units(); ++unit) {
            std::set<std::string> needed, unknown;
            for (std::size_t preset = 0; preset < check_.presets.size(); ++preset) {
                for (const rig::Lacking& lacking : check_.on[preset][unit].lacking)
                    (lacking.standing.held == rig::Held::unknown ? unknown : needed).insert(use_words(lacking));
            }
            const auto add = [&](const std::set<std::string>& uses, const std::string& words) {
                std::string text;
                for (const std::string& use : uses) text += (text.empty() ? "" : ", ") + use;
                text.insert(0, unit_words(report_, unit).append(words));
                if (!uses.empty()) lines.push_back({text.append("."), Tone::plain, true});
            };
            add(needed, " lacks: ");
            add(unknown, ", of which no such dump is named, must hold: ");
        }
        if (!lines.empty()) section("What units still need for the set list").lines = std::move(lines);
    }

    [[nodiscard]] OutlineCell move_cell(std::size_t unit, std::size_t release) const {
        if (release == check_.running[unit]) {
            std::size_t now = 0;
            for (std::size_t song = 0; song < songs(); ++song)
                if (rig::as_saved(check_.play(song, unit, release))) ++now;
            const std::string text = '[' + std::to_string(now) + ']';
            return {text, text, Tone::strong};
        }
        const auto at = std::ranges::find_if(
            moves_.all, [&](const rig::Move& move) { return move.unit == unit && move.release == release; });
        if (at->barrier != rig::Barrier::none) return {"no", "no", Tone::faint};
        std::string text = std::to_string(at->songs);
        if (at->own_lost > 0) text += " -" + std::to_string(at->own_lost);
        return {text, std::to_string(at->songs), at->worth() > 0 ? Tone::good : Tone::plain};
    }

    void add_moves(const schema::Device& device) {
        const std::string title = brief(device.title.empty() ? device.name : device.title);
        OutlineSection& moves = section("Songs that each " + title + " would play as saved, by release");
        moves.table.heads.emplace_back("unit");
        for (const schema::ReleaseEntry& release : device.releases) moves.table.heads.push_back(brief(release.name));
        std::map<std::string, std::string> barred;
        for (std::size_t unit = 0; unit < units(); ++unit) {
            if (report_.material->devices[unit] != &device) continue;
            auto& row = moves.table.rows.emplace_back();
            row.push_back({unit_words(report_, unit)});
            for (std::size_t release = 0; release < device.releases.size(); ++release)
                row.push_back(move_cell(unit, release));
            for (const rig::Move& move : moves_.all) {
                if (move.unit != unit || move.barrier == rig::Barrier::none) continue;
                std::string& on = barred[barrier_words(move.barrier)];
                on += (on.empty() ? "" : ", ") + brief(report_.rig().units[unit].name) + " on " +
                      brief(device.releases[move.release].name);
            }
        }
        moves.after.push_back(
            {"[ ] where it is now; -3: three of its own presets that arrive now would not arrive there; no: not open "
             "to it.",
             Tone::faint});
        for (const auto& [why, on] : barred) {
            std::string text = "No, since ";
            text.append(why).append(": ").append(on).append(".");
            moves.after.push_back({std::move(text), Tone::faint});
        }
    }

    void add_advice() {
        std::vector<std::size_t> advised = moves_.plan;
        if (moves_.best && std::ranges::find(advised, *moves_.best) == advised.end()) advised.push_back(*moves_.best);
        if (advised.empty()) return;
        OutlineSection& advice = section("Before a move");
        for (const std::size_t index : advised) {
            const rig::Move& move = moves_.all[index];
            advice.lines.push_back(
                {move_words(report_, move) + ": " + move_effect(report_, move) + '.', Tone::plain, true});
            if (move.no_return)
                advice.lines.push_back({"No way back: from " + brief(report_.release(move.unit, move.release)) +
                                            " it does not go back to " + brief(report_.rig().units[move.unit].release) +
                                            '.',
                                        Tone::bad, true});
            for (const std::string& sentence : move.erases)
                advice.lines.push_back(
                    {"Installing " + brief(report_.release(move.unit, move.release)) + ": " + brief_problem(sentence),
                     Tone::plain, true});
        }
        advice.lines.push_back({std::string(usual_cautions()), Tone::plain, true});
    }

    [[nodiscard]] std::string policy_digest() const {
        if (report_.material->policy == nullptr) return {};
        return ", policy " + brief(files::last_part(report_.material->policy->file)) + ' ' +
               report_.material->policy->digest.substr(0, 12);
    }

    void add_besides() {
        OutlineSection& besides = section("Besides");
        for (const InputFile& file : report_.files) {
            for (const Problem& problem : file.problems)
                besides.lines.push_back({file.file + ", " + problem_line(problem) + '.', Tone::plain, true});
        }
        besides.lines.push_back(
            {"Assets are taken to come along with a preset; the marks say where they still have to be put in. Moves "
             "are judged one install each, from the release that a unit runs.",
             Tone::plain, true});
        besides.lines.push_back({std::string(promise()), Tone::plain, true});
        std::string digests = "downfit " + report_.version + " with rig file " + report_.rig().digest.substr(0, 12) +
                              policy_digest() + " and schema files (first digits of SHA-256):";
        std::set<const schema::Device*> seen;
        for (const schema::Device* device : report_.material->devices) {
            if (!seen.insert(device).second) continue;
            digests += ' ' + device->name + ' ' + device->digest.substr(0, 12);
            for (const schema::ReleaseEntry& release : device->releases) {
                if (release.schema)
                    digests +=
                        ", " + files::last_part(release.schema->file) + ' ' + release.schema->digest.substr(0, 12);
            }
            digests += ';';
        }
        digests.back() = '.';
        besides.lines.push_back({digests, Tone::faint, true});
    }

    const RigReport& report_;
    const rig::RigCheck& check_;
    const rig::Moves& moves_;
    Outline outline_;
};

}  // namespace

Outline rig_outline(const RigReport& report) {
    return RigOutline(report).make();
}

}  // namespace downfit::report
