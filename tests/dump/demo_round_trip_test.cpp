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

schema::Device dunlin() {
    std::vector<schema::SourceFile> sources;
    for (const auto& path : files_in(testing::project_folder() / "schemas" / "dunlin-6", ".json")) {
        sources.push_back({path.filename().string(), testing::read_text(path)});
    }
    auto device = schema::load_device(sources);
    if (!device) FAIL(Catch::StringMaker<Problem>::convert(device.problems().front()));
    return std::move(device).value();
}

}  // namespace

TEST_CASE("the demo's dumps come back byte by byte", "[dump][demo]") {
    const schema::Device device = dunlin();
    const auto files = files_in(testing::project_folder() / "demo" / "dumps", ".syx");
    REQUIRE(!files.empty());
    for (const auto& path : files) {
        CAPTURE(path.filename().string());
        const Bytes bytes = testing::read_bytes(path);
        CHECK(dump::recognise(bytes, {&device}) == &device);
        const auto result = dump::read(path.filename().string(), bytes, device);
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
