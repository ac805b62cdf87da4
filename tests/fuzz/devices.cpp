#include "fuzz/devices.h"

#include <array>
#include <filesystem>
#include <map>

#include "fuzz/target.h"
#include "schema/load.h"
#include "support/demo_files.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit::fuzz {

namespace {

schema::Device goldcrest() {
    std::vector<schema::SourceFile> files;
    for (const char* name : {"device.json", "1.0.json", "1.1.json"}) {
        files.push_back({name, testing::read_text(testing::in_tests("fuzz/goldcrest") / name)});
    }
    auto device = schema::load_device(files);
    require(device.ok(), device ? "" : "the Goldcrest loads: " + device.problems().front().what);
    return std::move(device).value();
}

}  // namespace

const std::vector<schema::Device>& devices() {
    static const std::vector<schema::Device> all = [] {
        std::vector<schema::Device> loaded;
        loaded.push_back(testing::load_device_folder("dunlin-6"));
        loaded.push_back(testing::load_device_folder("pipit"));
        loaded.push_back(goldcrest());
        return loaded;
    }();
    return all;
}

const schema::Device& device_of(std::uint8_t choice) {
    return devices()[choice % devices().size()];
}

const std::vector<Base>& bases_of(const schema::Device& device) {
    static std::map<std::string, std::vector<Base>> all;
    auto& bases = all[device.name];
    if (!bases.empty()) return bases;
    std::vector<std::filesystem::path> paths;
    for (const auto& entry : std::filesystem::directory_iterator(testing::in_tests("fuzz/bases"))) {
        if (entry.path().filename().string().starts_with(device.name)) paths.push_back(entry.path());
    }
    std::sort(paths.begin(), paths.end());
    for (const auto& path : paths) {
        Base base{testing::read_bytes(path), {}};
        auto dump = dump::read(path.filename().string(), base.bytes, device);
        require(dump.ok(), "a base dump can be read");
        base.dump = std::move(dump).value();
        bases.push_back(std::move(base));
    }
    require(!bases.empty(), "every device has a base dump");
    return bases;
}

}  // namespace downfit::fuzz
