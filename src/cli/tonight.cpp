#include "cli/tonight.h"

#include "files/input.h"

namespace downfit::cli {

namespace {

class TonightFinder {
public:
    TonightFinder(const schema::Rig& rig, report::CheckReport& report) : rig_(rig), report_(report) {}

    Problems find() && {
        report::Tonight tonight{rig_.file, rig_.title, {}};
        for (std::size_t song = 0; song < rig_.songs.size(); ++song) {
            for (const schema::RigNeed& need : rig_.songs[song].presets) {
                tonight.presets.push_back(find(song, need.preset, false));
                for (const schema::RigPreset& substitute : need.substitutes)
                    tonight.presets.push_back(find(song, substitute, true));
            }
        }
        report_.tonight = std::move(tonight);
        return std::move(problems_);
    }

private:
    report::TonightPreset find(std::size_t song, const schema::RigPreset& wanted, bool substitute) {
        const std::string file = files::last_part(rig_.dumps[wanted.dump].file);
        report::TonightPreset told{song + 1, rig_.songs[song].title, substitute, file, {}, wanted.slot, wanted.name,
                                   {}};
        if (wanted.slot) told.label = "slot " + std::to_string(*wanted.slot);
        if (!wanted.name.empty()) told.label += (wanted.slot ? " \"" : "\"") + wanted.name + '"';
        std::size_t fitting = 0;
        for (std::size_t i = 0; i < report_.presets.size(); ++i) {
            const report::PresetReport& preset = report_.presets[i];
            if (files::last_part(report_.files[preset.file].file) != file) continue;
            if (wanted.slot && preset.check.slot != *wanted.slot) continue;
            if (!wanted.name.empty() && preset.check.name != wanted.name) continue;
            if (++fitting == 1) told.preset = i;
        }
        if (fitting == 1 || (fitting == 0 && (report_.filtered() || !given(file)))) return told;
        problems_.push_back({wanted.place,
                             file + " holds " + (fitting == 0 ? "no" : std::to_string(fitting)) +
                                 (fitting == 0 ? " preset" : " presets") + " that is " + told.label,
                             "one", fitting == 0 ? "mend the rig file, or read the unit out again" : "say which slot"});
        return told;
    }

    [[nodiscard]] bool given(const std::string& file) const {
        for (const report::InputFile& one : report_.files) {
            if (files::last_part(one.file) == file) return true;
        }
        return false;
    }

    const schema::Rig& rig_;
    report::CheckReport& report_;
    Problems problems_;
};

}  // namespace

Problems find_tonight(const schema::Rig& rig, report::CheckReport& report) {
    return TonightFinder(rig, report).find();
}

}  // namespace downfit::cli
