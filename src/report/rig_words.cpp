#include "report/rig_words.h"

#include <algorithm>
#include <array>

#include "report/standing.h"
#include "report/words.h"

namespace downfit::report {

namespace {

using rig::Play;

struct PlayRow {
    std::string_view shape, word;
    Tone tone;
    char mark;
};
constexpr std::array<PlayRow, rig::play_count> rows{{{"=", "intact", Tone::good, 'I'},
                                                     {"~", "near", Tone::mild, 'N'},
                                                     {"+", "substitute", Tone::mild, 'N'},
                                                     {"?", "undecided", Tone::unknown, 'U'},
                                                     {"x", "altered", Tone::bad, 'A'},
                                                     {"#", "refused", Tone::worst, 'R'},
                                                     {".", "-", Tone::faint, 0}}};
constexpr PlayRow severe_row{"X", "severe", Tone::worst, 'S'};
constexpr std::size_t most_songs_named = 5;

const rig::OnUnit& worst_of(const RigReport& report, std::size_t song, std::size_t unit) {
    const rig::Pair& pair = report.check->pairs[song][unit];
    return report.check->on[report.check->songs[song][pair.worst].preset][unit];
}

const PlayRow& play_row(const RigReport& report, std::size_t song, std::size_t unit) {
    const rig::Pair& pair = report.check->pairs[song][unit];
    if (pair.play == Play::altered && heaviest(worst_of(report, song, unit).now) == compat::Weight::severe)
        return severe_row;
    return rows[static_cast<std::size_t>(pair.play)];
}

std::string marks(const rig::Pair& pair) {
    std::string text;
    if (pair.let_pass()) text += '^';
    if (pair.held_back()) text += '_';
    if (pair.play == Play::foreign && text.empty()) return {};
    if (pair.caution) text += '!';
    if (pair.lacks) text += '*';
    if (pair.unseen && !pair.lacks) text += '?';
    return text;
}

/// Why a preset does not arrive on a unit.
std::string preset_reason(const RigReport& report, std::size_t index, std::size_t unit) {
    const rig::Preset& preset = report.check->presets[index];
    PresetReport told;
    told.check.state = preset.entry->state;
    told.damage = preset.entry->damage;
    return main_reason(told, report.check->on[index][unit].now, true);
}

/// Of a song that plays as saved where the policy asks for more.
std::string held_back_reason(const RigReport& report, std::size_t song, std::size_t unit) {
    for (const rig::Need& need : report.check->songs[song]) {
        if (report.check->ruled(need, unit) != rig::Ruled::within)
            return preset_words(report, need.preset) + ": " + preset_reason(report, need.preset, unit);
    }
    return {};
}

}  // namespace

OutlineCell pair_cell(const RigReport& report, std::size_t song, std::size_t unit) {
    const PlayRow& row = play_row(report, song, unit);
    const std::string mark = marks(report.check->pairs[song][unit]);
    if (report.check->pairs[song][unit].play == Play::foreign) return {"-" + mark, "-" + mark, row.tone, 0};
    return {std::string(row.shape) + ' ' + std::string(row.word) + mark, std::string(row.shape) + mark, row.tone,
            row.mark};
}

std::string pair_legend(const RigReport& report) {
    std::string text =
        "= intact, ~ near: both arrive as saved; + a substitute does; ? undecided; x altered audibly, X severely; # "
        "refused; - a preset of another device. ! monitors down first; * an impulse response or the like must be "
        "put in first; a ? behind it: what the unit holds of these was not seen.";
    if (report.material->policy != nullptr)
        text += " ^ not as saved, but the policy lets it pass; _ the policy does not let it pass.";
    return text;
}

std::string pair_reason(const RigReport& report, std::size_t song, std::size_t unit) {
    const rig::Pair& pair = report.check->pairs[song][unit];
    if (rig::as_saved(pair.play) && pair.held_back()) return held_back_reason(report, song, unit);
    if (rig::as_saved(pair.play) || pair.play == Play::foreign) return {};
    const rig::Need& need = report.check->songs[song][pair.worst];
    const std::size_t running = report.check->running[unit];
    const auto foreign = [&](std::size_t preset) {
        return report.check->on[preset][unit].plays[running] == Play::foreign;
    };
    if (pair.play == Play::substitute)
        return preset_words(report, report.check->played(need, unit, running)) + " for " +
               preset_words(report, need.preset) + ": " +
               (foreign(need.preset) ? "a preset of another device" : preset_reason(report, need.preset, unit));
    std::size_t told = need.preset;
    for (const std::size_t substitute : need.substitutes) {
        if (foreign(told)) told = substitute;
    }
    return preset_words(report, told) + ": " + preset_reason(report, told, unit);
}

std::string preset_words(const RigReport& report, std::size_t index) {
    const rig::Preset& preset = report.check->presets[index];
    std::string text = preset.slot >= 0 ? "slot " + std::to_string(preset.slot) + ' ' : std::string();
    return text + quoted_name(preset.name) + " of " + brief(report.rig().dumps[preset.from].name);
}

std::string unit_words(const RigReport& report, std::size_t unit) {
    const schema::RigUnit& one = report.rig().units[unit];
    return brief(one.name) + " (" + (one.whose.empty() ? "" : brief(one.whose) + ", ") + brief(one.release) + ')';
}

std::string song_list(const RigReport& report, const std::vector<std::size_t>& songs) {
    std::string text;
    for (std::size_t i = 0; i < songs.size() && i < most_songs_named; ++i)
        text += (i == 0 ? "" : ", ") + brief(report.rig().songs[songs[i]].title);
    if (songs.size() > most_songs_named) text += " and " + std::to_string(songs.size() - most_songs_named) + " more";
    return text;
}

std::string move_words(const RigReport& report, const rig::Move& move) {
    const schema::RigUnit& unit = report.rig().units[move.unit];
    return brief(unit.name) + " from " + brief(unit.release) + " to " + brief(report.release(move.unit, move.release));
}

std::string move_effect(const RigReport& report, const rig::Move& move) {
    std::string text = counted(move.won.size(), "more song plays", "more songs play") + " as saved";
    if (!move.won.empty()) text += " (" + song_list(report, move.won) + ')';
    text += ", " + (move.lost.empty() ? std::string("none fewer")
                                      : counted(move.lost.size(), "no longer does", "no longer do") + " (" +
                                            song_list(report, move.lost) + ')');
    const std::size_t own = report.check->own[move.unit].count;
    if (own == 0) return text;
    return text + "; of its own " + presets(own) + ' ' +
           (move.own_lost == 0 ? "none is lost" : std::to_string(move.own_lost) + " no longer arrive") +
           (move.own_won == 0 ? "" : ", " + std::to_string(move.own_won) + " more arrive");
}

std::string barrier_words(rig::Barrier barrier) {
    switch (barrier) {
        case rig::Barrier::none: return {};
        case rig::Barrier::stays: return "it is to stay";
        case rig::Barrier::no_schema: return "there is no release file";
        case rig::Barrier::hardware: return "its hardware does not take it";
        case rig::Barrier::no_way_back: break;
    }
    return "it does not go back so far";
}

}  // namespace downfit::report
