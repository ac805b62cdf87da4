// Fuzz target: rig files. The input is the text of one; its dumps are small ones of the devices that its units are.
// Promised: a rig, or reasons with places; of a rig that fits its devices and dumps every song on every unit has a
// result, the moves make sense, and reports are harmless.
#include "schema/rig.h"

#include "fuzz/devices.h"
#include "fuzz/promises.h"
#include "fuzz/target.h"
#include "report/rig_report.h"

namespace {

using namespace downfit;

// What a rig may be and still be judged here; a larger one is only read, for speed.
constexpr std::size_t most_units = 6;
constexpr std::size_t most_songs = 12;
constexpr std::size_t most_presets = 24;
constexpr std::size_t most_plans = 2000;

bool is_small(const schema::Rig& rig) {
    std::size_t presets = 0;
    for (const schema::RigSong& song : rig.songs) {
        for (const schema::RigNeed& need : song.presets) presets += 1 + need.substitutes.size();
    }
    return rig.units.size() <= most_units && rig.songs.size() <= most_songs && presets <= most_presets;
}

/// The device of the unit that the dump was read out of; else Dunlin 6.
const schema::Device& device_for(const schema::Rig& rig, const rig::Material& material, std::size_t dump) {
    const auto owner = rig.owner(dump);
    return owner ? *material.devices[*owner] : fuzz::device_of(0);
}

/// Whether every unit's dumps are of its own device; the program asks it before it judges.
bool fits(const schema::Rig& rig, const rig::Material& material) {
    for (std::size_t unit = 0; unit < rig.units.size(); ++unit) {
        for (const std::size_t dump : rig.units[unit].dumps) {
            for (const dump::Dump* one : material.dumps[dump]) {
                if (one->device != material.devices[unit]) return false;
            }
        }
    }
    return true;
}

void look_at_check(const rig::Material& material, const rig::RigCheck& check) {
    const std::size_t units = material.devices.size();
    fuzz::require(check.songs.size() == material.rig->songs.size() && check.pairs.size() == check.songs.size(),
                  "every song is judged");
    for (const auto& row : check.pairs) fuzz::require(row.size() == units, "on every unit");
    for (std::size_t preset = 0; preset < check.presets.size(); ++preset) {
        fuzz::require(check.on[preset].size() == units, "every preset is judged on every unit");
        for (std::size_t unit = 0; unit < units; ++unit) {
            const bool foreign = check.presets[preset].device != material.devices[unit];
            for (const rig::Play play : check.on[preset][unit].plays) {
                fuzz::require(foreign == (play == rig::Play::foreign), "only another device's preset is foreign");
            }
        }
    }
}

void look_at_moves(const rig::Material& material, const rig::RigCheck& check, const rig::Moves& moves) {
    for (const rig::Move& move : moves.all) {
        fuzz::require(move.unit < material.devices.size() && move.release != check.running[move.unit] &&
                          move.release < material.devices[move.unit]->releases.size(),
                      "a move goes to another release of its device");
    }
    if (moves.best) {
        const rig::Move& best = moves.all.at(*moves.best);
        fuzz::require(best.barrier == rig::Barrier::none && best.worth() > 0,
                      "the best move is open and worth something");
        for (const rig::Move& move : moves.all) {
            fuzz::require(move.barrier != rig::Barrier::none || move.worth() <= best.worth(), "no move is worth more");
        }
    }
    for (const std::size_t move : moves.plan)
        fuzz::require(moves.all.at(move).barrier == rig::Barrier::none, "only open moves are planned");
}

void judge(const schema::Rig& rig, bool as_json) {
    std::vector<const schema::Device*> devices;
    for (const schema::Device& device : fuzz::devices()) devices.push_back(&device);
    const Problems problems = schema::check_rig(rig, devices);
    if (!problems.empty()) return fuzz::look_at_problems(problems, {"rig.json"});
    rig::Material material;
    material.rig = &rig;
    for (const schema::RigUnit& unit : rig.units) material.devices.push_back(schema::device_of(unit, devices));
    for (std::size_t dump = 0; dump < rig.dumps.size(); ++dump) {
        const schema::Device& device = device_for(rig, material, dump);
        std::vector<const dump::Dump*>& held = material.dumps.emplace_back();
        for (const fuzz::Base& base : fuzz::bases_of(device)) held.push_back(&base.dump);
        material.saved_on.push_back(device.find_release(rig.dumps[dump].saved_on));
    }
    if (!fits(rig, material)) return;
    const Result<rig::RigCheck> check = rig::check_rig(material);
    if (!check) return fuzz::look_at_problems(check.problems(), {"rig.json"});
    look_at_check(material, check.value());
    const rig::Moves moves = rig::find_moves(material, check.value(), most_plans);
    look_at_moves(material, check.value(), moves);
    const report::RigReport report{"0", &material, &check.value(), &moves, {}};
    if (as_json) return fuzz::look_at_json(report::rig_json(report));
    fuzz::look_at_text(report::outline_text(report::rig_outline(report), false, {}));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto rig = schema::read_rig({"rig.json", std::string(data, data + size)});
    if (!rig) {
        fuzz::look_at_problems(rig.problems(), {"rig.json"});
    } else if (is_small(rig.value())) {
        judge(rig.value(), size % 2 == 0);
    }
    return 0;
}
