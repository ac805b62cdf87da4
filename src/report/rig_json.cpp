#include <set>

#include "report/closing.h"
#include "report/json.h"
#include "report/rig_report.h"
#include "report/rig_ruling.h"
#include "report/rig_words.h"

namespace downfit::report {

namespace {

Json song_numbers(const std::vector<std::size_t>& songs) {
    Json list = Json::array();
    for (const std::size_t song : songs) list.push_back(song + 1);
    return list;
}

std::string_view held_word(rig::Held held) {
    switch (held) {
        case rig::Held::there: return "there";
        case rig::Held::other: return "another-there";
        case rig::Held::missing: return "missing";
        case rig::Held::unknown: break;
    }
    return "not-known";
}

Json asset_json(const rig::Lacking& lacking) {
    return Json{{"asset", lacking.use.kind},
                {"slot", lacking.use.slot >= 0 ? Json(lacking.use.slot) : Json()},
                {"name", lacking.standing.meant.empty() ? Json() : Json(lacking.standing.meant)},
                {"state", held_word(lacking.standing.held)},
                {"there", lacking.standing.there.empty() ? Json() : Json(lacking.standing.there)}};
}

bool is_foreign(const rig::OnUnit& here) {
    return here.plays.empty() || here.plays.front() == rig::Play::foreign;
}

Json verdict_left(const rig::OnUnit& here) {
    return is_foreign(here) ? Json() : Json(compat::verdict_name(here.ruling.verdict));
}

Json weight_left(const rig::OnUnit& here) {
    return is_foreign(here) ? Json() : Json(compat::weight_name(here.ruling.weight));
}

Json preset_json(const RigReport& report, std::size_t index) {
    const rig::Preset& preset = report.check->presets[index];
    Json json;
    json["dump"] = report.rig().dumps[preset.from].name;
    json["file"] = preset.dump->file;
    json["slot"] = preset.slot >= 0 ? Json(preset.slot) : Json();
    json["name"] = preset.name;
    json["units"] = Json::array();
    for (std::size_t unit = 0; unit < report.check->running.size(); ++unit) {
        const rig::OnUnit& here = report.check->on[index][unit];
        Json plays = Json::object();
        for (std::size_t release = 0; release < here.plays.size(); ++release)
            plays[report.release(unit, release)] = rig::play_name(here.plays[release]);
        Json lacking = Json::array();
        for (const rig::Lacking& one : here.lacking) lacking.push_back(asset_json(one));
        json["units"].push_back(Json{{"unit", report.rig().units[unit].name},
                                     {"play", rig::play_name(here.plays[report.check->running[unit]])},
                                     {"by-release", std::move(plays)},
                                     {"assets", std::move(lacking)},
                                     {"verdict-left", verdict_left(here)},
                                     {"weight-left", weight_left(here)},
                                     {"fails", here.ruling.fails},
                                     {"accepted", rig_accepted_json(report, index, unit)}});
    }
    return json;
}

Json song_json(const RigReport& report, std::size_t song) {
    Json json;
    json["number"] = song + 1;
    json["title"] = report.rig().songs[song].title;
    json["served"] = rig::served_name(report.check->served(song));
    json["ruled"] = rig::ruled_name(report.check->ruled(song));
    json["presets"] = Json::array();
    for (const rig::Need& need : report.check->songs[song]) {
        Json substitutes = Json::array();
        for (const std::size_t substitute : need.substitutes) substitutes.push_back(substitute);
        json["presets"].push_back(Json{{"preset", need.preset}, {"substitutes", std::move(substitutes)}});
    }
    json["units"] = Json::array();
    for (std::size_t unit = 0; unit < report.check->running.size(); ++unit) {
        const rig::Pair& pair = report.check->pairs[song][unit];
        const std::string reason = pair_reason(report, song, unit);
        json["units"].push_back(Json{{"unit", report.rig().units[unit].name},
                                     {"play", rig::play_name(pair.play)},
                                     {"reason", reason.empty() ? Json() : Json(reason)},
                                     {"caution", pair.caution},
                                     {"assets-lacking", pair.lacks},
                                     {"assets-not-known", pair.unseen},
                                     {"ruled", rig::ruled_name(pair.ruled)}});
    }
    return json;
}

Json move_json(const RigReport& report, const rig::Move& move) {
    return Json{{"unit", report.rig().units[move.unit].name},
                {"from", report.rig().units[move.unit].release},
                {"to", report.release(move.unit, move.release)},
                {"barrier", move.barrier == rig::Barrier::none ? Json() : Json(rig::barrier_name(move.barrier))},
                {"songs", move.songs},
                {"won", song_numbers(move.won)},
                {"lost", song_numbers(move.lost)},
                {"own-lost", move.own_lost},
                {"own-won", move.own_won},
                {"served", move.served},
                {"worth", move.worth()},
                {"no-way-back", move.no_return},
                {"erases", move.erases}};
}

Json units_json(const RigReport& report) {
    Json list = Json::array();
    for (std::size_t unit = 0; unit < report.check->running.size(); ++unit) {
        const schema::RigUnit& one = report.rig().units[unit];
        list.push_back(Json{{"unit", one.name},
                            {"whose", one.whose.empty() ? Json() : Json(one.whose)},
                            {"device", one.device},
                            {"variant", one.variant.empty() ? Json() : Json(one.variant)},
                            {"release", one.release},
                            {"own-presets", report.check->own[unit].count}});
    }
    return list;
}

Json devices_json(const RigReport& report) {
    Json list = Json::array();
    std::set<const schema::Device*> seen;
    for (const schema::Device* device : report.material->devices) {
        if (!seen.insert(device).second) continue;
        Json json = device_json(*device);
        json["schemas"] = schemas_json(*device);
        list.push_back(std::move(json));
    }
    return list;
}

}  // namespace

std::string rig_json(const RigReport& report) {
    const rig::Moves& moves = *report.moves;
    Json json;
    json["format"] = rig_format;
    json["program"] = Json{{"name", "downfit"}, {"version", report.version}};
    json["note"] = promise();
    json["rig"] = Json{{"file", report.rig().file}, {"sha-256", report.rig().digest}, {"title", report.rig().title}};
    json["policy"] = rig_policy_json(report);
    json["devices"] = devices_json(report);
    json["files"] = Json::array();
    for (const InputFile& file : report.files) {
        json["files"].push_back(Json{{"file", file.file},
                                     {"sha-256", file.digest},
                                     {"holds", file.holds},
                                     {"problems", problems_json(file.problems)}});
    }
    json["units"] = units_json(report);
    json["songs"] = Json::array();
    for (std::size_t song = 0; song < report.check->songs.size(); ++song)
        json["songs"].push_back(song_json(report, song));
    json["presets"] = Json::array();
    for (std::size_t preset = 0; preset < report.check->presets.size(); ++preset)
        json["presets"].push_back(preset_json(report, preset));
    json["nowhere-as-saved"] = report.check->nowhere_as_saved();
    json["served-now"] = moves.served_now;
    json["moves"] = Json::array();
    for (const rig::Move& move : moves.all) json["moves"].push_back(move_json(report, move));
    json["best-move"] = moves.best ? move_json(report, moves.all[*moves.best]) : Json();
    Json plan = Json::array();
    for (const std::size_t index : moves.plan) plan.push_back(move_json(report, moves.all[index]));
    json["smallest-set"] = Json{{"moves", std::move(plan)},
                                {"exact", moves.served.exact},
                                {"on-no-release", song_numbers(moves.served.beyond)},
                                {"not-together", song_numbers(moves.served.missed)}};
    return json_text(json);
}

}  // namespace downfit::report
