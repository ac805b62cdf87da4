#include "support/demo_files.h"

#include <filesystem>
#include <stdexcept>

#include "schema/load.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit::testing {
namespace {

std::string described(const Problems& problems) {
    std::string text;
    for (const Problem& problem : problems) {
        if (const auto* place = std::get_if<TextPlace>(&problem.place)) {
            text += place->file + ":" + std::to_string(place->line) + ": " + place->pointer + ": ";
        }
        text += problem.what + "; " + problem.expected + "\n";
    }
    return text;
}

}  // namespace

schema::Device load_device_folder(const std::string& name) {
    std::set<std::filesystem::path> paths;
    for (const auto& entry : std::filesystem::directory_iterator(project_folder() / "schemas" / name)) {
        if (entry.path().extension() == ".json") paths.insert(entry.path());
    }
    std::vector<schema::SourceFile> sources;
    for (const auto& path : paths) sources.push_back({path.filename().string(), read_text(path)});
    auto device = schema::load_device(sources);
    if (!device) throw std::runtime_error(described(device.problems()));
    return std::move(device).value();
}

Bytes demo_dump(const std::string& file) {
    return read_bytes(project_folder() / "demo" / "dumps" / file);
}

dump::Dump read_demo_dump(const std::string& file, const Bytes& bytes, const schema::Device& device) {
    auto dump = dump::read(file, bytes, device);
    if (!dump) throw std::runtime_error(described(dump.problems()));
    return std::move(dump).value();
}

std::set<int> filled_slots(const dump::Dump& dump) {
    std::set<int> slots;
    for (const dump::Entry& entry : dump.entries) {
        const bool asset = dump.device->framings[entry.framing].holds == schema::Holds::asset;
        if (asset && entry.state == dump::SlotState::filled) slots.insert(dump::shown_slot(*dump.device, entry));
    }
    return slots;
}

}  // namespace downfit::testing
