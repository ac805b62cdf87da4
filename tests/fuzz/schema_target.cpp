// Fuzz target: device and release files. The input is the texts of several files, each ended by a byte 1E. Promised:
// a device, or reasons with places; and a device that loads can be used: every release is compiled, and bodies are
// decoded and checked by it.
#include <array>
#include <string>
#include <vector>

#include "compat/check.h"
#include "dump/tree.h"
#include "fuzz/promises.h"
#include "fuzz/target.h"
#include "schema/instances.h"
#include "schema/load.h"

namespace {

using namespace downfit;

constexpr std::uint8_t end_of_file = 0x1E;
constexpr std::size_t most_files = 16;

// What a device may be and still be used here; a larger one is only loaded, for speed.
constexpr std::size_t most_fields = 300;
constexpr std::size_t most_bytes = 4096;
constexpr std::size_t most_releases = 4;

std::vector<schema::SourceFile> files_in(ByteView bytes) {
    std::vector<schema::SourceFile> files;
    while (!bytes.empty() && files.size() < most_files) {
        const auto end = std::find(bytes.begin(), bytes.end(), end_of_file);
        files.push_back({"file-" + std::to_string(files.size()) + ".json", std::string(bytes.begin(), end)});
        const auto length = static_cast<std::size_t>(end - bytes.begin());
        bytes = bytes.subspan(std::min(length + 1, bytes.size()));
    }
    return files;
}

dump::Entry entry_for(const schema::Device& device, std::size_t layout, std::size_t size, std::uint8_t fill) {
    dump::Entry entry;
    entry.layout = layout;
    entry.framing = device.layouts[layout].framing;
    entry.slot = 0;
    entry.body.assign(size, fill);
    for (std::size_t i = 0; i < size && fill == 1; ++i) entry.body[i] = static_cast<std::uint8_t>(i * 37 + 11);
    return entry;
}

void use(const schema::Device& device) {
    if (device.releases.size() > most_releases || device.layouts.empty()) return;
    compat::CheckOptions options;
    for (const schema::ReleaseEntry& release : device.releases) {
        if (!release.schema) continue;
        const schema::Instances instances(*release.schema);
        if (instances.fields().size() > most_fields) return;
        options.targets.push_back(release.schema->order);
    }
    compat::Checker checker(device, options);
    for (std::size_t layout = 0; layout < device.layouts.size(); ++layout) {
        if (device.framings[device.layouts[layout].framing].holds != schema::Holds::presets) continue;
        const std::size_t size = std::max<std::size_t>(device.layouts[layout].body_size, 16);
        if (size > most_bytes) continue;
        for (const std::uint8_t fill : std::to_array<std::uint8_t>({0x00, 0x01, 0xFF})) {
            dump::Entry entry = entry_for(device, layout, size, fill);
            for (const std::size_t saved : options.targets) {
                const auto& stamps = device.releases[saved].stamps;
                if (!stamps.empty()) entry.stamp = stamps.front();
                const compat::PresetCheck check = checker.check(entry);
                fuzz::require(check.targets.size() == options.targets.size(), "every target is judged");
            }
        }
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto files = files_in({data, size});
    const auto device = schema::load_device(files);
    if (device) {
        use(device.value());
    } else {
        std::vector<std::string> names;
        for (const schema::SourceFile& file : files) names.push_back(file.name);
        fuzz::look_at_problems(device.problems(), names);
    }
    return 0;
}
