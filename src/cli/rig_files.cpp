#include "cli/rig_files.h"

#include <algorithm>

#include "cli/selection.h"
#include "files/input.h"

namespace downfit::cli {

namespace {

void add(const Problems& more, Problems& problems) {
    problems.insert(problems.end(), more.begin(), more.end());
}

/// Reads the dumps of one path; the list of their dumps, empty where they cannot be used.
std::vector<const dump::Dump*> read_path(const std::string& path, const Schemas& schemas, const std::string& layout,
                                         RigFiles& files, Problems& problems) {
    Result<std::vector<Input>> read = read_inputs({path}, schemas, layout, files.notes);
    if (!read) {
        add(read.problems(), problems);
        return {};
    }
    files.inputs.push_back(std::move(read).value());
    std::vector<const dump::Dump*> dumps;
    for (const Input& input : files.inputs.back()) {
        dumps.push_back(&input.dump);
        const Problem* damage = first_damage(input.dump);
        std::string words = damage != nullptr ? damage->what : std::string();
        for (const dump::Entry& entry : input.dump.entries) {
            if (words.empty() && entry.state == dump::SlotState::damaged && !entry.damage.empty())
                words = entry.damage.front().what;
        }
        files.files.push_back(
            {input.dump.file, input.dump.digest, kinds_in(input.dump), {}, {}, input.dump.problems, std::move(words)});
    }
    return dumps;
}

/// That a dump of a unit is of the unit's device.
void check_devices(const RigFiles& files, Problems& problems) {
    for (std::size_t unit = 0; unit < files.rig.units.size(); ++unit) {
        for (const std::size_t index : files.rig.units[unit].dumps) {
            for (const dump::Dump* dump : files.material.dumps[index]) {
                if (dump->device == files.material.devices[unit]) continue;
                problems.push_back({files.rig.dumps[index].place,
                                    "\"" + files.rig.dumps[index].name + "\" is a dump of " + dump->device->name +
                                        ", but the unit \"" + files.rig.units[unit].name + "\" is a " +
                                        files.rig.units[unit].device,
                                    "a dump of the unit's own device",
                                    {}});
            }
        }
    }
}

}  // namespace

Result<schema::Rig> read_rig_file(const std::string& path) {
    Result<std::string> text = files::read_text(path);
    if (!text) return text.problems();
    return schema::read_rig({path, std::move(text).value()});
}

std::string path_of(const schema::Rig& rig, const schema::RigDump& dump) {
    const std::size_t folder = rig.file.find_last_of('/');
    if (dump.file.starts_with('/') || folder == std::string::npos) return dump.file;
    return rig.file.substr(0, folder + 1) + dump.file;
}

Problems read_rig_dumps(const Schemas& schemas, const std::vector<std::string>& everywhere, RigFiles& files) {
    Problems problems = schema::check_rig(files.rig, schemas.views());
    if (!problems.empty()) {
        add(schemas.problems, problems);  // a broken schema may be why
        return problems;
    }
    rig::Material& material = files.material;
    material.rig = &files.rig;
    for (const schema::RigUnit& unit : files.rig.units)
        material.devices.push_back(schema::device_of(unit, schemas.views()));
    for (const schema::RigDump& dump : files.rig.dumps) {
        material.dumps.push_back(read_path(path_of(files.rig, dump), schemas, dump.layout, files, problems));
        std::optional<std::size_t> saved_on;
        if (!dump.saved_on.empty() && !material.dumps.back().empty()) {
            const schema::Device& device = *material.dumps.back().front()->device;
            schema::check_release_named(dump.saved_on, dump.saved_on_place, device, problems);
            saved_on = device.find_release(dump.saved_on);
        }
        material.saved_on.push_back(saved_on);
    }
    for (const std::string& path : everywhere) {
        for (const dump::Dump* dump : read_path(path, schemas, {}, files, problems))
            material.everywhere.push_back(dump);
    }
    if (problems.empty()) check_devices(files, problems);
    return problems;
}

}  // namespace downfit::cli
