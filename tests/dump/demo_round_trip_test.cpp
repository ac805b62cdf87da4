// The demo's dumps, read by the demo's schemas: nothing is wrong with them, and written again they are byte-identical.
#include <algorithm>
#include <filesystem>

#include "dump/dump.h"
#include "dump/show_problem.h"
#include "dump/tree.h"
#include "schema/load.h"
#include "support/catch.h"
#include "support/file.h"
#include "support/paths.h"

namespace downfit {

namespace {

std::vector<std::filesystem::path> files_in(const std::filesystem::path& folder, const std::string& extension) {
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(folder)) {
        if (entry.path().extension() == extension) files.push_back(entry.path());
    }
    std::ranges::sort(files);
    return files;
}

schema::Device load(const std::filesystem::path& folder) {
    std::vector<schema::SourceFile> sources;
    for (const auto& path : files_in(folder, ".json")) {
        sources.push_back({path.filename().string(), testing::read_text(path)});
    }
    auto device = schema::load_device(sources);
    if (!device) FAIL(folder << Catch::StringMaker<Problem>::convert(device.problems().front()));
    return std::move(device).value();
}

/// All devices of the project's own schemas.
std::vector<schema::Device> own_devices() {
    std::vector<schema::Device> devices;
    for (const auto& folder : std::filesystem::directory_iterator(testing::project_folder() / "schemas")) {
        if (std::filesystem::exists(folder.path() / "device.json")) devices.push_back(load(folder.path()));
    }
    return devices;
}

}  // namespace

TEST_CASE("the demo's dumps come back byte by byte", "[dump][demo]") {
    const std::vector<schema::Device> devices = own_devices();
    std::vector<const schema::Device*> views;
    for (const schema::Device& device : devices) views.push_back(&device);
    const auto files = files_in(testing::project_folder() / "demo" / "dumps", ".syx");
    REQUIRE(!files.empty());
    for (const auto& path : files) {
        CAPTURE(path.filename().string());
        const Bytes bytes = testing::read_bytes(path);
        const schema::Device* device = dump::recognise(bytes, views);
        REQUIRE(device);
        const auto result = dump::read(path.filename().string(), bytes, *device);
        REQUIRE(result.ok());
        dump::Dump dump = result.value();
        CHECK(!dump.entries.empty());
        CHECK(dump::write(dump, bytes).value() == bytes);
        for (dump::Entry& entry : dump.entries) {
            CHECK(entry.joined_as_sent.empty());
            if (entry.state == dump::SlotState::damaged) continue;
            CHECK(dump::origins(dump, entry, bytes).size() == entry.body.size());
        }
        for (dump::Message& message : dump.messages) CHECK(message.payload_as_sent.empty());
    }
}

}  // namespace downfit
