#include "cli/schemas.h"

#include <algorithm>

#include "base/near_miss.h"
#include "cli/command.h"
#include "files/input.h"
#include "schema/load.h"

namespace downfit::cli {

namespace {

constexpr std::string_view how_to_name = "--schemas DIR or $DOWNFIT_SCHEMAS says where they are";

}  // namespace

Result<std::string> find_schema_folder(const std::string& asked, const Environment& environment) {
    const std::string variable = environment.variable("DOWNFIT_SCHEMAS");
    for (const std::string& folder : {asked, variable}) {
        if (folder.empty()) continue;
        if (files::is_folder(folder)) return folder;
        return Problem{folder, "there is no such folder of schema files", {}, std::string(how_to_name)};
    }
    if (files::is_folder("schemas")) return std::string("schemas");
    const std::string installed = files::join(environment.program_folder, "../share/downfit/schemas");
    if (!environment.program_folder.empty() && files::is_folder(installed)) return installed;
    return usage_problem("there is no folder with schema files here", std::string(how_to_name));
}

std::vector<schema::SourceFile> read_sources(const std::string& folder, Problems& problems) {
    std::vector<schema::SourceFile> sources;
    const Result<std::vector<std::string>> paths = files::json_files(folder);
    if (!paths) {
        problems.insert(problems.end(), paths.problems().begin(), paths.problems().end());
        return sources;
    }
    for (const std::string& path : paths.value()) {
        const Result<std::string> text = files::read_text(path);
        if (text) {
            sources.push_back({path, text.value()});
        } else {
            problems.push_back(text.problems().front());
        }
    }
    return sources;
}

namespace {

void load_folder(const std::string& folder, Schemas& schemas) {
    const std::size_t told = schemas.problems.size();
    const std::vector<schema::SourceFile> sources = read_sources(folder, schemas.problems);
    for (const schema::SourceFile& source : sources) schemas.files.push_back(source.name);
    if (sources.empty() && schemas.problems.size() > told) return;
    Result<schema::Device> device = schema::load_device(sources);
    if (device) {
        schemas.devices.push_back(std::make_unique<schema::Device>(std::move(device).value()));
    } else {
        schemas.problems.insert(schemas.problems.end(), device.problems().begin(), device.problems().end());
    }
}

}  // namespace

Result<std::vector<std::string>> device_folders(const std::string& folder, const std::string& device) {
    const Result<std::vector<std::string>> own = files::json_files(folder);
    if (!own) return own.problems();
    if (!own.value().empty()) return std::vector<std::string>{folder};
    Result<std::vector<std::string>> found = files::folders(folder);
    if (!found) return found;
    std::vector<std::string> devices = std::move(found).value();
    std::erase_if(devices, [](const std::string& path) { return files::last_part(path) == "format"; });
    const auto named = std::find_if(devices.begin(), devices.end(),
                                    [&](const std::string& path) { return files::last_part(path) == device; });
    if (named != devices.end()) return std::vector<std::string>{*named};
    return devices;
}

namespace {

/// Leaves only the device asked for.
std::optional<Problem> choose(const std::string& device, Schemas& schemas) {
    std::vector<std::string> names;
    for (const auto& known : schemas.devices) names.push_back(known->name);
    std::erase_if(schemas.devices, [&](const auto& known) { return known->name != device; });
    if (!schemas.devices.empty() || !schemas.problems.empty()) return std::nullopt;
    const std::vector<std::string_view> views(names.begin(), names.end());
    std::string remedy = did_you_mean(device, views);
    if (remedy.empty()) {
        for (const std::string& name : names) remedy += (remedy.empty() ? "there is: " : ", ") + name;
    }
    return Problem{schemas.folder, "no device is called \"" + device + '"', {}, remedy};
}

}  // namespace

std::vector<const schema::Device*> Schemas::views() const {
    std::vector<const schema::Device*> all;
    all.reserve(devices.size());
    for (const auto& device : devices) all.push_back(device.get());
    return all;
}

Result<Schemas> load_schemas(const std::string& folder, const std::string& device, const Environment& environment) {
    const Result<std::string> found = find_schema_folder(folder, environment);
    if (!found) return found.problems();
    Schemas schemas;
    schemas.folder = found.value();
    const Result<std::vector<std::string>> folders = device_folders(schemas.folder, device);
    if (!folders) return folders.problems();
    for (const std::string& one : folders.value()) load_folder(one, schemas);
    if (schemas.devices.empty() && schemas.problems.empty()) {
        return Problem{schemas.folder, "holds no device folder", "a folder with a device file and release files",
                       std::string(how_to_name)};
    }
    if (!device.empty()) {
        if (std::optional<Problem> problem = choose(device, schemas)) return *std::move(problem);
    }
    if (schemas.devices.empty()) return schemas.problems;
    return schemas;
}

}  // namespace downfit::cli
